import { describe, expect, it } from 'vitest'
import { createStillness } from '../../../../dsp/modem/frontEnd/stillness.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../../../dsp/modem/receiver.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { randomFrame } from '../../../bench/randomFrame.js'

const rateHz = 48_000

/** What is listened to of a recording that is cut into blocks of such lengths, and where each sample of it stood. */
function listened(audio: Float32Array, lengthOf: () => number): { heard: number[]; at: number[] } {
  const stillness = createStillness(rateHz, 20 * rateHz)
  const heard: number[] = []
  const at: number[] = []
  const listen = (samples: Float32Array): void => {
    for (const sample of samples) {
      at.push(stillness.inputAt(heard.length))
      heard.push(sample)
    }
  }
  for (let from = 0; from < audio.length; ) {
    const length = lengthOf()
    stillness.pass(audio.subarray(from, from + length), listen)
    from += length
  }
  stillness.finish(listen)
  return { heard, at }
}

/** Sound, 3.01234 s of one value, sound, half a second of another, sound. */
function withPauses(value: number): Float32Array {
  const random = seededRandom(5)
  const sound = (): number[] => Array.from({ length: 3000 }, () => random() - 0.5)
  const still = new Array<number>(Math.round(3.01234 * rateHz)).fill(value)
  const short = new Array<number>(rateHz / 2).fill(0)
  return Float32Array.from([...sound(), ...still, ...sound(), ...short, ...sound()])
}

describe('stillness', () => {
  it('leaves out what one value lasts beyond a second, in whole steps of 10 ms', () => {
    for (const value of [0, 0.0125]) {
      const audio = withPauses(value)
      const { heard, at } = listened(audio, () => 4800)
      // 3.01234 s less one second, to steps of 10 ms.
      expect(audio.length - heard.length).toBe((201 * rateHz) / 100)
      at.forEach((position, index) => {
        if (index >= 3000 + 1.1 * rateHz) expect(audio[position]).toBe(heard[index])
      })
      expect(at.at(-1)).toBe(audio.length - 1)
    }
  })

  it('does not depend on the borders of blocks', () => {
    const audio = withPauses(0)
    const whole = listened(audio, () => audio.length)
    const random = seededRandom(6)
    for (const lengthOf of [() => 1, () => 480, () => 1 + Math.floor(random() * 20_000)])
      expect(listened(audio, lengthOf)).toEqual(whole)
  })

  it('lets the receiver tell where frames were, between pauses of minutes', () => {
    const octets = randomFrame(60, seededRandom(8))
    const burst = modulateTransmission({
      ...{ frames: [octets], preambleMs: 200, tailMs: 20 },
      ...{ sampleRateHz: rateHz, peakLevel: 0.3 },
    })
    const receiver = createReceiver({ sampleRateHz: rateHz, repair: 'careful' })
    const places: number[] = []
    const take = (block: Float32Array): void => {
      for (const frame of receiver.push(block)) places.push(frame.firstSample)
    }
    for (let count = 0; count < 3; count++) {
      take(burst)
      for (let second = 0; second < 100; second++) take(new Float32Array(rateHz))
    }
    const period = burst.length + 100 * rateHz
    expect(places.map((place) => place - places[0]!)).toEqual([0, period, 2 * period])
  })

  it('finds the channel free where a converter is off zero, at any rate', () => {
    for (const sampleRateHz of [8000, 11_025, 22_050, 44_100, 48_000])
      for (const value of [0.03, -0.4, 1 / 32_768]) {
        const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
        const random = seededRandom(7)
        receiver.push(Float32Array.from({ length: sampleRateHz }, () => 0.2 * (random() - 0.5)))
        receiver.push(new Float32Array(3 * sampleRateHz).fill(value))
        expect(receiver.channelBusy, `${value} at ${sampleRateHz} Hz`).toBe(false)
        expect(receiver.counters.fcsRejected).toBe(0)
      }
  })
})
