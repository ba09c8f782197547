import { describe, expect, it } from 'vitest'
import { clippedFrom, createClippingLog } from '../../../../dsp/modem/frontEnd/clippingLog.js'

/** Samples of which those in the given cells of 64 are clipped. */
const withCells = (length: number, ...cells: readonly number[]): Float32Array =>
  Float32Array.from({ length }, (_, at) => (cells.includes(Math.floor(at / 64)) ? 1 : 0.2))

const logOf = (samples: Float32Array, capacity = 640, blockSamples = samples.length) => {
  const log = createClippingLog(capacity)
  for (let at = 0; at < samples.length; at += blockSamples)
    log.append(samples.subarray(at, at + blockSamples))
  return log
}

describe('clipping log', () => {
  it('counts from the last but one step of 8 bits on, of either sign', () => {
    const samples = new Float32Array(64)
    samples.set([clippedFrom, -clippedFrom, clippedFrom - 1e-6, 1e-6 - clippedFrom, 2, Number.NaN])
    expect(clippedFrom).toBe(127 / 128)
    expect(logOf(samples).share(0, 64)).toBe(3 / 64)
  })

  it('places are taken to the nearest cell of 64 samples', () => {
    const log = logOf(withCells(640, 1))
    expect(log.share(64, 128)).toBe(1)
    expect(log.share(33, 159)).toBe(1)
    expect(log.share(0, 128)).toBe(0.5)
    expect(log.share(31, 128)).toBe(0.5)
    expect(log.share(64, 160)).toBe(0.5)
    expect(log.share(0, 64)).toBe(0)
    expect(log.share(128, 640)).toBe(0)
  })

  it('of nothing it is nothing', () => {
    const log = logOf(withCells(640, 1))
    expect(log.share(64, 64)).toBe(0)
    expect(log.share(128, 64)).toBe(0)
    expect(createClippingLog(640).share(0, 640)).toBe(0)
  })

  it('before the first sample and behind the latest there is nothing', () => {
    const log = logOf(withCells(100, 0, 1))
    expect(log.share(-200, 64)).toBe(1)
    // The second cell is not full: 36 of its 64 samples.
    expect(log.share(64, 10_000)).toBe(36 / 64)
    expect(log.share(0, 10_000)).toBe(100 / 128)
  })

  it('does not depend on the blocks', () => {
    const samples = withCells(1000, 2, 5, 7)
    for (const blockSamples of [1, 63, 64, 65, 200])
      for (const [from, to] of [
        [128, 192],
        [320, 512],
        [256, 640],
      ] as const)
        expect(logOf(samples, 2000, blockSamples).share(from, to)).toBe(
          logOf(samples, 2000).share(from, to),
        )
  })

  it('looks back as far as it was asked to, and what is older is not mistaken for it', () => {
    // 640 samples are ten cells, and one may be under way.
    const samples = withCells(64 * 31, ...Array.from({ length: 20 }, (_, cell) => cell))
    const log = logOf(samples)
    expect(log.share(20 * 64, 31 * 64)).toBe(0)
    expect(log.share(19 * 64, 31 * 64)).toBe(0)
    const latest = logOf(withCells(64 * 31, 20, 30), 640, 77)
    expect(latest.share(20 * 64, 31 * 64)).toBeCloseTo(2 / 11, 12)
    expect(latest.share(19 * 64, 31 * 64)).toBe(0)
    // A capacity that is no whole number of cells has room for the begun one.
    expect(logOf(withCells(64 * 12, 1, 11), 650).share(64, 12 * 64)).toBeCloseTo(2 / 11, 12)
  })
})
