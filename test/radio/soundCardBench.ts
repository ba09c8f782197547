import { fileURLToPath } from 'node:url'
import type { TransmitOutcome } from '../../src/radio/port.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import {
  createSoundCardRadio,
  type SoundCardRadio,
  type SoundCardRadioOptions,
} from '../../src/radio/soundCardRadio.js'
import type { FromWorker, RadioSetup, WorkerStart } from '../../src/radio/workerMessages.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { pttDefaults, waitFor } from '../ptt/helperProcess.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

export const setup: RadioSetup = {
  ...{ radio: 0, name: 'radio', levelDbfs: -6, toneBalanceDb: 0 },
  transmit: transmitDefaults,
  audio: {
    ...{ input: 'alsa:none', channel: 0 },
    ...{ sampleRateHz: 12_000, sampleFormat: 's16le', channelCount: 1 },
  },
  receiver: { repair: 'none' },
  ptt: pttDefaults,
  holdFile: '',
  holdInput: { kind: 'none', device: '', activeLow: false, command: [], intervalMs: 500 },
}
const workerFile = fileURLToPath(new URL('scriptedWorker.mjs', import.meta.url))
export const own = frame(ownCall, 'x')
export const down = {
  receiving: false,
  channelBusy: true,
  keyed: false,
  queuedCount: 0,
  dutyUsed: 0,
}

let radio: SoundCardRadio | undefined
/** For after each test. */
export async function closeRadio(): Promise<void> {
  await radio?.close()
  radio = undefined
}

/** A radio whose thread does what a test says. */
export function bench(more: Partial<SoundCardRadioOptions> = {}) {
  const clock = virtualClock()
  const port = createSoundCardRadio({ setup, clock, workerFile, ...more })
  radio = port
  const events: RadioEvent[] = []
  const outcomes: TransmitOutcome[] = []
  port.onEvent((event) => events.push(event))
  port.onOutcome((outcome) => outcomes.push(outcome))
  const seen = async (is: (event: RadioEvent) => boolean): Promise<RadioEvent> =>
    (await waitFor(() => events.find(is)))!
  const reasons = (kind: RadioEvent['kind']): string[] =>
    events.filter((event) => event.kind === kind).map(({ reason }) => reason)
  /** What each thread was started with. */
  const starts = (): WorkerStart[] =>
    reasons('settings')
      .filter((reason) => reason.startsWith('started '))
      .map((reason) => JSON.parse(reason.slice(8)))
  const started = (count = 1) => waitFor(() => (starts().length >= count ? true : undefined))
  let settles = 0
  /** All messages so far have arrived, and their answers too. */
  const settled = async (): Promise<void> => {
    const mark = `settled ${++settles}`
    port.release(mark)
    await seen(({ reason }) => reason.includes(`"${mark}"`))
    events.splice(0, events.length, ...events.filter(({ reason }) => !reason.includes('"settled')))
  }
  const script = (what: string, text = ''): void => {
    port.hold(`test: ${what}`, text)
    port.release(`test: ${what}`)
  }
  const post = async (message: FromWorker): Promise<void> => {
    script('post', JSON.stringify(message))
    await settled()
    events.splice(0, events.length, ...events.filter(({ reason }) => !reason.includes('"test: ')))
  }
  /** What the thread was told, since it was asked last. */
  const told = (): unknown[] =>
    events
      .splice(0)
      .filter(({ kind, reason }) => kind === 'settings' && reason.startsWith('{'))
      .map(({ reason }) => JSON.parse(reason))
  return {
    clock,
    port,
    events,
    outcomes,
    reasons,
    seen,
    starts,
    started,
    settled,
    script,
    post,
    told,
  }
}
