// Stretches of signal as they are kept, made from tones: no noise, nothing to be found in audio first.
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import type { Stretch } from '../../../../dsp/modem/copies/stretch.js'
import { spaceTurnRadians } from '../burstByHand.js'

export interface Copy {
  readonly tones: Uint8Array
  readonly startSample?: number
  /** symbols in which both tones are heard alike */
  readonly unclear?: readonly number[]
  readonly amplitude?: number
}

export const tonesOfFrames = (frames: readonly Uint8Array[], leadingFlags = 2): Uint8Array =>
  encodeNrzi(encodeHdlc({ frames, leadingFlags, trailingFlags: 2 }))

export const invertedTones = (tones: Uint8Array): Uint8Array => tones.map((tone) => 1 - tone)

export function stretchOf({ tones, startSample = 0, unclear = [], amplitude = 1 }: Copy): Stretch {
  const count = tones.length
  const run = {
    ...{ markRe: new Float32Array(count), markIm: new Float32Array(count) },
    ...{ spaceRe: new Float32Array(count), spaceIm: new Float32Array(count) },
  }
  let phase = 0.3
  for (let k = 0; k < count; k++) {
    const isUnclear = unclear.includes(k)
    const size = isUnclear ? amplitude / 2 : amplitude
    if (tones[k] === 1 || isUnclear) {
      run.markRe[k] = size * Math.cos(phase)
      run.markIm[k] = size * Math.sin(phase)
    }
    if (tones[k] === 0 || isUnclear) {
      run.spaceRe[k] = size * Math.cos(phase)
      run.spaceIm[k] = size * Math.sin(phase)
    }
    if (tones[k] === 0) phase += spaceTurnRadians
  }
  return {
    ...{ count, run, startSample, symbolLength: 10, markStep: 0, spaceStep: 0 },
    ...{ markAmplitude: amplitude, spaceAmplitude: amplitude, variance: 0.1 * amplitude ** 2 },
    leads: Float32Array.from(tones, (tone) => 2 * tone - 1),
    weights: new Float32Array(count).fill(1),
  }
}
