import { createFmReceiver, createFmTransmitter } from '../../dsp/channel/fmLink.js'
import type { AudioListener, AudioSink, AudioSource } from '../audio/audioDevice.js'
import type { PttOutput } from '../ptt/pttOutput.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'

export interface AirOptions {
  readonly clock: Clock
  readonly random: Random
  /**
   * Carrier at the receiver over noise in its intermediate-frequency filter, dB, on the way from one station to
   * another; asked every tick, so that a path may come and go. -Infinity: out of range.
   */
  pathCnrDb(from: string, to: string, atMs: number): number
}

/** One station's radio: what its audio device and key line would be. */
export interface AirRadio {
  readonly source: AudioSource
  readonly sink: AudioSink
  readonly ptt: PttOutput
}

/** An FM channel that several stations share, sample by sample, on the clock that was passed in. */
export interface Air {
  readonly sampleRateHz: number
  join(name: string): AirRadio
  close(): void
}

const sampleRateHz = 48_000
const tickMs = 10
const tickSamples = (sampleRateHz * tickMs) / 1000
/** Full-scale audio deviates by this much; 0.6 of it is the 3 kHz of common practice (no source). */
const deviationHz = 5000
const ifBandwidthHz = 12_500

/**
 * Every tick: each keyed station's audio becomes a carrier, the carriers add up at each receiver with the paths' gains,
 * and the receiver's own noise and discriminator make audio of them. A station hears nothing while it is keyed.
 */
export function createAir(options: AirOptions): Air {
  const { clock } = options
  const stations: AirStation[] = []
  let nextTickMs = clock.monotonicMs() + tickMs
  let cancel: Cancel = clock.at(nextTickMs, tick)

  function tick(): void {
    const keyed = stations.filter((station) => station.keyed())
    const carriers = new Map(keyed.map((station) => [station, station.transmit()]))
    for (const station of stations) {
      const re = new Float64Array(tickSamples)
      const im = new Float64Array(tickSamples)
      for (const [sender, carrier] of carriers) {
        if (sender === station) continue
        const gain = 10 ** (options.pathCnrDb(sender.name, station.name, nextTickMs) / 20)
        if (gain === 0) continue
        for (let index = 0; index < tickSamples; index++) {
          re[index]! += gain * carrier.re[index]!
          im[index]! += gain * carrier.im[index]!
        }
      }
      station.receive({ re, im }, carriers.has(station))
    }
    nextTickMs += tickMs
    cancel = clock.at(nextTickMs, tick)
  }

  return {
    sampleRateHz,
    join(name) {
      const station = createStation(name, options)
      stations.push(station)
      return station.radio
    },
    close: () => cancel(),
  }
}

interface AirStation {
  readonly name: string
  readonly radio: AirRadio
  keyed(): boolean
  transmit(): { re: Float64Array; im: Float64Array }
  receive(carriers: { re: Float64Array; im: Float64Array }, deaf: boolean): void
}

/** Audio on its way out, and how much of it has gone. */
interface Playing {
  readonly samples: Float32Array
  at: number
  readonly settle: () => void
}

function createStation(name: string, { random }: AirOptions): AirStation {
  const transmitter = createFmTransmitter({ sampleRateHz, deviationHz })
  const receiver = createFmReceiver({
    sampleRateHz,
    deviationHz,
    ifBandwidthHz,
    // Gains are given over this noise.
    noiseDb: 0,
    random,
  })
  let keyed = false
  let playing: Playing | undefined
  let listener: AudioListener | undefined
  const sourceCounters = { samples: 0, overruns: 0, restarts: 0, faults: 0 }
  const sinkCounters = { samples: 0, underruns: 0, faults: 0 }

  const stopPlaying = (): void => {
    const stopped = playing
    playing = undefined
    stopped?.settle()
  }

  const nextAudio = (): Float32Array => {
    const audio = new Float32Array(tickSamples)
    if (playing === undefined) return audio
    const part = playing.samples.subarray(playing.at, playing.at + tickSamples)
    audio.set(part)
    playing.at += part.length
    sinkCounters.samples += part.length
    if (playing.at >= playing.samples.length) stopPlaying()
    return audio
  }

  return {
    name,
    keyed: () => keyed,
    transmit: () => transmitter.modulate(nextAudio()),
    receive(carriers, deaf) {
      // Audio that is played with the key up goes nowhere, but takes its time.
      if (!keyed) nextAudio()
      const audio = receiver.demodulate(carriers)
      sourceCounters.samples += audio.length
      listener?.onBlock(deaf ? new Float32Array(audio.length) : audio)
    },
    radio: {
      source: {
        name: `air:${name}`,
        sampleRateHz,
        counters: sourceCounters,
        open: (opened) => {
          listener = opened
        },
        close: async () => {
          listener = undefined
        },
      },
      sink: {
        name: `air:${name}`,
        sampleRateHz,
        counters: sinkCounters,
        get playing() {
          return playing !== undefined
        },
        prepare: async () => undefined,
        play(samples) {
          if (playing !== undefined) throw new RangeError(`air:${name}: plays already`)
          return new Promise((settle) => {
            playing = { samples, at: 0, settle }
          })
        },
        stop: stopPlaying,
        close: async () => stopPlaying(),
      },
      ptt: {
        name: `air:${name}`,
        key: () => {
          keyed = true
        },
        unkey: () => {
          keyed = false
        },
        close: async () => {
          keyed = false
        },
      },
    },
  }
}
