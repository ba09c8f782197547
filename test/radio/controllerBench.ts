import type {
  ControllerAction,
  ControllerEvent,
  ControllerInput,
  ControllerPast,
} from '../../src/radio/controllerTypes.js'
import type { Priority, TransmitOutcome } from '../../src/radio/port.js'
import { contentDurationMs } from '../../src/radio/transmissionAudio.js'
import type { TransmissionContent } from '../../src/radio/transmissionContent.js'
import { TransmitController } from '../../src/radio/transmitController.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { request, transmitDefaults } from './fixtures.js'

/** A controller whose line answers at once and whose audio lasts what it should, unless a test wants it otherwise. */
export interface ControllerBench {
  readonly controller: TransmitController
  feed(input: ControllerInput): ControllerAction[]
  send(id: string, octets: Uint8Array, priority?: Priority, notAfterMs?: number): void
  advanceTo(ms: number): void
  readonly nowMs: number
  readonly outcomes: TransmitOutcome[]
  readonly events: ControllerEvent[]
  readonly sent: { readonly fromMs: number; toMs: number; readonly content: TransmissionContent }[]
  /** set by a test: audio that never ends, a line that never comes on */
  hangs: boolean
  deadLine: boolean
}

export function controllerBench(
  options: Partial<TransmitOptions> = {},
  past?: ControllerPast,
  random: () => number = () => 0.5,
): ControllerBench {
  const clock = virtualClock()
  const controller = new TransmitController({
    ...{ ...transmitDefaults, ...options, past },
    ...{ random, durationMs: contentDurationMs, keyOverheadMs: 1, unkeyMarginMs: 0 },
  })
  let wake = (): void => {}
  const sent: { fromMs: number; toMs: number; content: TransmissionContent }[] = []
  const self: ControllerBench = {
    controller,
    ...{ outcomes: [], events: [], sent, hangs: false, deadLine: false },
    get nowMs() {
      return clock.monotonicMs()
    },
    feed(input) {
      const actions = controller.handle(input, clock.monotonicMs())
      for (const action of actions) perform(action)
      wake()
      const nextMs = controller.nextAtMs()
      if (nextMs !== undefined) wake = clock.at(nextMs, () => self.feed({ kind: 'time' }))
      return actions
    },
    send: (id, octets, priority, notAfterMs) =>
      void self.feed({ kind: 'request', request: request(id, octets, priority, notAfterMs) }),
    advanceTo: (ms) => clock.advanceTo(ms),
  }
  const later = (afterMs: number, input: () => ControllerInput): void => {
    clock.at(clock.monotonicMs() + afterMs, () => self.feed(input()))
  }
  const perform = (action: ControllerAction): void => {
    const nowMs = clock.monotonicMs()
    switch (action.kind) {
      case 'key':
        sent.push({ fromMs: nowMs, toMs: Number.NaN, content: action.content })
        if (!self.deadLine) later(0, () => ({ kind: 'keyed', atMs: nowMs }))
        break
      case 'play':
        if (!self.hangs)
          later(contentDurationMs(sent.at(-1)!.content), () => ({ kind: 'audioEnded' }))
        break
      case 'unkey':
        sent.at(-1)!.toMs = nowMs
        later(0, () => ({ kind: 'unkeyed', atMs: nowMs }))
        break
      case 'outcome':
        self.outcomes.push(action.outcome)
        break
      case 'event':
        self.events.push(action.event)
    }
  }
  self.feed({ kind: 'channel', busy: false })
  return self
}
