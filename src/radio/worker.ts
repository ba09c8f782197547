// Entry of a radio's worker thread: audio, receiver, controller and key line of one radio, on a clock and an event loop of
// their own, so that whatever the main thread is busy with loses no sample and stretches no transmission.
import { randomInt } from 'node:crypto'
import { parentPort, workerData } from 'node:worker_threads'
import { loadModem, type Modem } from '../../dsp/modem/modems.js'
import { openAudioSink, openAudioSource } from '../audio/openAudio.js'
import { guardedLine } from '../ptt/guardedLine.js'
import { createHoldInput } from '../ptt/holdInput.js'
import { directLine, type KeyLine } from '../ptt/keyLine.js'
import { noneOutput } from '../ptt/noneOutput.js'
import { type Cancel, every } from '../runtime/clock.js'
import { createGuard, type Guard } from '../runtime/guard.js'
import { systemClock } from '../runtime/systemClock.js'
import { watchHolds } from './holdWatch.js'
import { createRadioCore, type RadioCore } from './radioCore.js'
import type { RadioReport, WatchWish } from './radioWatch.js'
import { gatherReports } from './reportGathering.js'
import { keyOverheadMs, unkeyMarginMs } from './soundCardTiming.js'
import type { FromWorker, ToWorker, WorkerStart } from './workerMessages.js'

const lifeSignMs = 2000
/** As fine as a draw of a slot can use. */
const randomSteps = 2 ** 32

const { setup, past } = workerData as WorkerStart
const clock = systemClock()
const tell = (message: FromWorker): void => parentPort?.postMessage(message)

function keyLine(): KeyLine {
  const { ptt, transmit } = setup
  // Without a line there is nothing to guard; without sending, nothing that could be left on.
  if (ptt.kind === 'none' && ptt.logFile === '') return directLine(noneOutput(), clock)
  return guardedLine({ ptt: { ...ptt, keyedMsMax: transmit.timeOutMs }, clock })
}

function build(modem: Modem, onChannel: () => void): RadioCore {
  const audio = { ...setup.audio, clock }
  return createRadioCore({
    ...setup,
    modem,
    clock,
    random: () => randomInt(randomSteps) / randomSteps,
    source: openAudioSource(audio.input, audio),
    sink: audio.output === undefined ? undefined : openAudioSink(audio.output, audio),
    line: keyLine(),
    keyOverheadMs,
    unkeyMarginMs,
    past,
    onCut: () => tell({ type: 'cut' }),
    onChannel,
  })
}

interface Report {
  /** at the end of the turn that changed it: once, whatever came together */
  readonly state: () => void
  readonly stop: () => void
}

/** Tells the main thread everything; the state when something may have changed it, and as a sign of life. */
function report(core: RadioCore, guard: Guard): Report {
  let isDue = false
  const now = (): void => {
    isDue = false
    const own = core.state()
    const state = { ...own, faultCount: (own.faultCount ?? 0) + guard.faultCount }
    tell({ type: 'state', state, access: core.access() })
  }
  const tellState = (): void => {
    if (isDue) return
    isDue = true
    queueMicrotask(guard.listener('the state of the radio', now))
  }
  core.onFrame((frame) => tell({ type: 'frame', frame }))
  core.onOutcome((outcome) => {
    tell({ type: 'outcome', outcome })
    tellState()
  })
  core.onEvent((event) => {
    tell({ type: 'event', event })
    if (event.kind === 'unkeyed') tell({ type: 'past', past: core.past() })
    tellState()
  })
  return { state: tellState, stop: every(clock, lifeSignMs, tellState) }
}

let cancelWatch: Cancel = () => {}

function watch(core: RadioCore, wish: WatchWish | undefined): void {
  cancelWatch()
  cancelWatch = () => {}
  // Anew each time: what waited for a former viewer is of no use to the next one.
  if (wish !== undefined) cancelWatch = core.watch(wish, gatherReports(clock, tellReports))
}

const tellReports = (reports: readonly RadioReport[]): void => tell({ type: 'reports', reports })

function obey(message: ToWorker, core: RadioCore, end: () => Promise<void>): void {
  switch (message.type) {
    case 'send':
      core.send(message.request)
      break
    case 'tone':
      core.sendTone(message.request)
      break
    case 'withdraw':
      core.withdraw(message.id)
      break
    case 'hold':
      core.hold(message.source, message.reason)
      break
    case 'release':
      core.release(message.source)
      break
    case 'access':
      core.setAccess(message.change)
      break
    case 'watch':
      watch(core, message.wish)
      break
    case 'mayKey':
      core.mayKeyAgain()
      break
    case 'close':
      void end()
  }
}

function tellFault(reason: string): void {
  const { radio } = setup
  const atMs = clock.monotonicMs()
  const event = { kind: 'fault', radio, atMs, atWallMs: clock.wallMs(), reason } as const
  tell({ type: 'event', event })
}

async function main(): Promise<void> {
  // What the main thread says meanwhile waits for the listener below.
  const modem = await loadModem(setup.transmit.bitRate ?? 1200)
  const core = build(modem, () => told.state())
  // The main thread means well: a message that cannot be used is a fault of the program, and no reason to end.
  const guard = createGuard(({ what, reason }) => tellFault(`${what}: ${reason}`))
  const told = report(core, guard)
  const holds = watchHolds({
    port: core,
    clock,
    file: setup.holdFile,
    input: createHoldInput(setup.holdInput, clock),
    inputIntervalMs: setup.holdInput.intervalMs,
  })
  const end = async (): Promise<void> => {
    await core.close()
    told.stop()
    await holds.close()
    parentPort?.close()
  }
  const hear = (message: ToWorker): void => {
    obey(message, core, end)
    told.state()
  }
  parentPort?.on('message', guard.listener('a message of the main thread', hear))
  core.start()
}

void main()
