import type {
  ControllerAction,
  ControllerInput,
  ControllerOptions,
} from '../../src/radio/controllerTypes.js'
import { contentDurationMs } from '../../src/radio/transmissionAudio.js'
import { TransmitController } from '../../src/radio/transmitController.js'
import { frame, ownCall, request, transmitDefaults } from './fixtures.js'

export const own = frame(ownCall, 'x')
export const foreign = frame('QQ9ZZ', 'x')
export const send = (id: string, octets = own, notAfterMs?: number): ControllerInput => ({
  ...{ kind: 'request', request: request(id, octets, 'answer', notAfterMs) },
})
export const free: ControllerInput = { kind: 'channel', busy: false }
export const time: ControllerInput = { kind: 'time' }

/** A controller by itself: inputs with their moments in, actions out. */
export function controllerOf(change: Partial<ControllerOptions> = {}) {
  const controller = new TransmitController({
    ...{ ...transmitDefaults, random: () => 0, durationMs: contentDurationMs },
    ...{ keyOverheadMs: 0, unkeyMarginMs: 0, ...change },
  })
  const at = (ms: number, ...inputs: ControllerInput[]): ControllerAction[] =>
    inputs.flatMap((input) => controller.handle(input, ms))
  return { controller, at }
}

export const event = (
  kind: string,
  atMs: number,
  reason: string,
  more: { requestId?: string; untilMs?: number; owedSinceMs?: number } = {},
) => ({ kind: 'event', event: { kind, atMs, reason, ...more } })
