import { describe, expect, it } from 'vitest'
import { checkBitRate } from '../../src/radio/bitRate.js'
import { checkIdentificationFits } from '../../src/radio/identificationFits.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { Failure } from '../../src/runtime/failure.js'
import { transmitDefaults } from './fixtures.js'

const failureOf = (run: () => void): Failure | undefined => {
  try {
    run()
    return undefined
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    return error
  }
}

describe('a station that may send', () => {
  const timing = { keyOverheadMs: 50, unkeyMarginMs: 10 }
  const check = (change: Partial<TransmitOptions>): Failure | undefined =>
    failureOf(() => checkIdentificationFits({ ...transmitDefaults, ...change }, timing))

  it('does not begin with limits that hold no identification, and says which and what to do', () => {
    expect(check({})).toBeUndefined()
    const failure = check({ timeOutMs: 500 })!
    expect(failure.code).toBe('identification-too-long')
    expect(failure.message).toMatch(
      /^transmit: got an identification would take \d+ ms, more than the limits allow \(500 ms\), expected an identification that fits the time-out timer and the duty limits; raise transmit\.timeOutMs, dutyPercent or morse\.wordsPerMinute, or lower keyDelayMs, tailMs and the hang of the radio \(ptt\.hangMs\)$/,
    )
    expect(failure.cause).toBeInstanceOf(RangeError)
  })

  it('what the devices take counts to it', () => {
    const needed = Number(/take (\d+) ms/.exec(check({ timeOutMs: 500 })!.message)![1])
    expect(check({ timeOutMs: needed + 1 })).toBeUndefined()
    const late = { keyOverheadMs: 50 + 1, unkeyMarginMs: 10 + 1 }
    const transmit = { ...transmitDefaults, timeOutMs: needed + 1 }
    expect(failureOf(() => checkIdentificationFits(transmit, late))).toBeDefined()
  })

  it('that only listens may have any limits', () => {
    expect(check({ timeOutMs: 500, enabled: false })).toBeUndefined()
    expect(check({ timeOutMs: 500, call: 'N0CALL' })).toBeUndefined()
  })

  it('what is wrong in another way is no word about the limits', () => {
    const broken = { ...transmitDefaults, dutyLimits: undefined } as unknown as TransmitOptions
    expect(() => checkIdentificationFits(broken, timing)).toThrow(TypeError)
  })
})

describe('audio for 9600 bit/s', () => {
  it('has 19,200 samples a second or more', () => {
    const check = (bitRate: 1200 | 9600, sampleRateHz: number): Failure | undefined =>
      failureOf(() => checkBitRate(bitRate, sampleRateHz, 'in.wav'))
    expect([check(9600, 19_200), check(1200, 8_000)]).toEqual([undefined, undefined])
    const failure = check(9600, 19_199)!
    expect(failure.code).toBe('bit-rate-sample-rate')
    expect(failure.message).toBe(
      'in.wav: got 19199 samples a second, expected 19200 or more; a signal of 9600 bit/s reaches up to 7.5 kHz; record it anew at 48000',
    )
  })
})
