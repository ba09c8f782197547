import { expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import {
  correlationMask,
  createSymbolRun,
  createToneCorrelations,
  sampleSymbol,
} from '../../../../dsp/modem/sequence/toneCorrelations.js'
import { seededRandom } from '../../../../src/runtime/random.js'

it('sliding correlations are the sums that they stand for, whatever the blocks', () => {
  const audio = whiteNoise(3000, 0.3, seededRandom(3))
  const correlations = createToneCorrelations()
  for (let at = 0; at < audio.length; at += 113) correlations.append(audio.subarray(at, at + 113))
  expect(correlations.end).toBe(3000 - 9)
  for (const position of [0, 1, 777, 2990]) {
    let re = 0
    let im = 0
    for (let n = position; n < position + 10; n++) {
      re += audio[n]! * Math.cos((2 * Math.PI * 2200 * n) / 12_000)
      im -= audio[n]! * Math.sin((2 * Math.PI * 2200 * n) / 12_000)
    }
    expect(correlations.spaceRe[position & correlationMask]).toBeCloseTo(re, 5)
    expect(correlations.spaceIm[position & correlationMask]).toBeCloseTo(im, 5)
  }
})

it('a symbol has the phase that the signal has at its start, also between samples', () => {
  const correlations = createToneCorrelations()
  correlations.append(
    Float32Array.from({ length: 500 }, (_, n) => Math.cos((2 * Math.PI * 1200 * n) / 12_000 + 0.7)),
  )
  const run = createSymbolRun(1)
  for (const position of [100, 133.4, 250.75]) {
    sampleSymbol(correlations, position, run, 0)
    const expected = (2 * Math.PI * position) / 10 + 0.7
    const phase = Math.atan2(run.markIm[0]!, run.markRe[0]!)
    expect(Math.cos(phase - expected)).toBeGreaterThan(0.9999)
    expect(Math.hypot(run.markRe[0]!, run.markIm[0]!)).toBeCloseTo(5, 1)
  }
})
