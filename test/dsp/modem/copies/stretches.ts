// Stretches of signal as they are kept, made from tones: no noise, nothing to be found in audio first.
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import type { Stretch } from '../../../../dsp/modem/copies/stretch.js'
import { spaceTurnRadians } from '../burstByHand.js'

export interface Copy {
  readonly tones: Uint8Array
  readonly startSample?: number
  /** symbols whose tone is mixed with the next one's the other way round, and how much of the wrong order is in them */
  readonly doubts?: readonly (readonly [number, number])[]
  readonly amplitude?: number
  readonly weights?: Float32Array
}

export const tonesOfFrames = (frames: readonly Uint8Array[], leadingFlags = 2): Uint8Array =>
  encodeNrzi(encodeHdlc({ frames, leadingFlags, trailingFlags: 2 }))

export const invertedTones = (tones: Uint8Array): Uint8Array => tones.map((tone) => 1 - tone)

function runOf(tones: Uint8Array, amplitude: number) {
  const column = (): Float32Array => new Float32Array(tones.length)
  const run = { markRe: column(), markIm: column(), spaceRe: column(), spaceIm: column() }
  let phase = 0.3
  tones.forEach((tone, k) => {
    const [re, im] = tone === 1 ? [run.markRe, run.markIm] : [run.spaceRe, run.spaceIm]
    re[k] = amplitude * Math.cos(phase)
    im[k] = amplitude * Math.sin(phase)
    if (tone === 0) phase += spaceTurnRadians
  })
  return run
}

export function stretchOf({ tones, startSample = 0, doubts = [], ...rest }: Copy): Stretch {
  const { amplitude = 1, weights = new Float32Array(tones.length).fill(1) } = rest
  const run = runOf(tones, amplitude)
  for (const [at, share] of doubts) {
    if (tones[at] === tones[at + 1]) throw new Error(`got two equal tones at ${at}`)
    const isOther = (k: number): boolean => k === at || k === at + 1
    const wrong = runOf(
      tones.map((tone, k) => (isOther(k) ? 1 - tone : tone)),
      amplitude,
    )
    for (const key of ['markRe', 'markIm', 'spaceRe', 'spaceIm'] as const)
      for (const k of [at, at + 1])
        run[key][k] = (1 - share) * run[key][k]! + share * wrong[key][k]!
  }
  return {
    ...{ count: tones.length, run, startSample, symbolLength: 10, markStep: 0, spaceStep: 0 },
    ...{ markAmplitude: amplitude, spaceAmplitude: amplitude, variance: 0.1 * amplitude ** 2 },
    ...{ leads: Float32Array.from(tones, (tone) => 2 * tone - 1), weights },
  }
}
