import type { Modem } from '../../dsp/modem/modems.js'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import type { AudioListener, AudioSink, AudioSource } from '../../src/audio/audioDevice.js'
import type { KeyLine, KeyLineListener } from '../../src/ptt/keyLine.js'
import type { HeardFrame, TransmitOutcome } from '../../src/radio/port.js'
import { createRadioCore } from '../../src/radio/radioCore.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { every } from '../../src/runtime/clock.js'
import { Failure } from '../../src/runtime/failure.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

export const rateHz = 12_000
export const failure = (got: string): Failure =>
  new Failure({ code: 'test', subject: 'device', got, expected: 'none' })

/** A radio on a virtual clock whose devices do what a test wants. */
export function radio(
  options: {
    transmit?: Partial<TransmitOptions>
    withoutSink?: boolean
    /** its audio comes in longer pieces when that is asked for */
    gathers?: boolean
    onCut?: (reason: string) => void
    onChannel?: () => void
    modem?: Modem
  } = {},
) {
  const clock = virtualClock()
  const log: string[] = []
  const note = (what: string): void => void log.push(`${Math.round(clock.monotonicMs())} ${what}`)
  const wants = {
    play: 'plays' as 'plays' | 'hangs' | 'fails',
    key: 'works' as 'works' | 'fails',
    unkey: 'works' as 'works' | 'waits',
    ready: true,
    flows: true,
    prepare: true,
  }
  let air: Float32Array | undefined
  let airAt = 0
  let stopPlay = (): void => {}
  let lineListener: KeyLineListener | undefined
  let listener: AudioListener | undefined
  const played: Float32Array[] = []
  const counters = { samples: 0, overruns: 0, restarts: 0, faults: 0, underruns: 0 }

  let heardToMs = 0
  let gatheredMs = 0
  const hear = (taker: AudioListener): void => {
    const block = new Float32Array((rateHz * (clock.monotonicMs() - heardToMs)) / 1000)
    heardToMs = clock.monotonicMs()
    block.set(air?.subarray(airAt, airAt + block.length) ?? [])
    airAt += block.length
    taker.onBlock(block)
  }
  const source: AudioSource = {
    ...{ name: 'test', sampleRateHz: rateHz, counters },
    open(taker) {
      listener = taker
      every(clock, 20, () => {
        if (!wants.flows) heardToMs = clock.monotonicMs()
        else if (clock.monotonicMs() - heardToMs >= gatheredMs) hear(taker)
      })
    },
    ...(options.gathers && {
      gather: (ms: number) => {
        gatheredMs = ms
        note(`gather ${ms}`)
        if (ms === 0) clock.at(clock.monotonicMs(), () => hear(listener!))
      },
    }),
    close: async () => note('source closed'),
  }
  const sink: AudioSink = {
    ...{ name: 'test', sampleRateHz: rateHz, counters, playing: false },
    async prepare() {
      note('prepare')
      if (!wants.prepare) throw failure('no card')
    },
    play(samples) {
      note('play')
      played.push(samples)
      if (wants.play === 'fails') return Promise.reject(failure('card gone'))
      return new Promise((resolve) => {
        stopPlay = resolve
        if (wants.play === 'plays')
          clock.at(clock.monotonicMs() + (samples.length * 1000) / rateHz, resolve)
      })
    },
    stop() {
      note('stop')
      stopPlay()
    },
    close: async () => note('sink closed'),
  }
  const line: KeyLine = {
    name: 'test',
    open(taker) {
      note('line open')
      lineListener = taker
      if (wants.ready) taker.onReady()
    },
    async key() {
      note('key')
      if (wants.key === 'fails') throw failure('no such line')
      return clock.monotonicMs()
    },
    async unkey() {
      note('unkey')
      if (wants.unkey === 'waits') await new Promise(() => {})
      return clock.monotonicMs()
    },
    close: async () => note('line closed'),
  }
  const core = createRadioCore({
    ...{ radio: 3, name: 'radio', clock, random: seededRandom(1), source, line },
    ...{ levelDbfs: -6, toneBalanceDb: 0, receiver: { repair: 'none' } },
    ...{ keyOverheadMs: 50, unkeyMarginMs: 10 },
    transmit: { ...transmitDefaults, ...options.transmit },
    sink: options.withoutSink ? undefined : sink,
    ...{ onCut: options.onCut, onChannel: options.onChannel, modem: options.modem },
  })
  const outcomes: TransmitOutcome[] = []
  const events: RadioEvent[] = []
  const heard: HeardFrame[] = []
  core.onOutcome((outcome) => outcomes.push(outcome))
  core.onEvent((event) => events.push(event))
  core.onFrame((one) => heard.push(one))
  return {
    ...{ clock, core, events, heard, log, outcomes, played, wants },
    line: () => lineListener!,
    source: () => listener!,
    /** from now on this is on the air */
    onAir(octets: Uint8Array, peakLevel = 0.5, offset = 0) {
      const common = { frames: [octets], preambleMs: 100, tailMs: 20 }
      air = modulateTransmission({ ...common, sampleRateHz: rateHz, peakLevel })
      air = air.map((sample) => sample + offset)
      airAt = 0
    },
    reasons: () => outcomes.map((one) => ('reason' in one ? one.reason : one.kind)),
  }
}

export const own = (text: string): Uint8Array => frame(ownCall, text)
export const keyOrder = (log: string[]): string[] =>
  log.map((line) => line.split(' ').slice(1).join(' '))
