// A burst of a signal without noise, by the model's own words: what is known of it is right or wrong as a test wants it.
import { type Burst, createBurst } from '../../../../dsp/modem/secondPass/model.js'
import { spaceTurnRadians } from '../burstByHand.js'

export interface ToneSignal {
  readonly tones: readonly number[]
  readonly markStep?: number
  readonly spaceStep?: number
  readonly tilt?: number
  readonly markAmplitude?: number
  readonly spaceAmplitude?: number
  readonly phase?: number
  /** what the tuning turns the phase in symbol k, beside the steps */
  readonly driftOf?: (k: number) => number
}

/** What is said of entries behind the last symbol can be told: they are no numbers. */
export function burstOfTones({
  tones,
  markStep = 0,
  spaceStep = 0,
  tilt = 0,
  markAmplitude = 1,
  spaceAmplitude = 1,
  phase: firstPhase = 0,
  driftOf = () => 0,
}: ToneSignal): Burst {
  const burst = createBurst()
  const { run } = burst
  burst.count = tones.length
  const columns = [run.markRe, run.markIm, run.spaceRe, run.spaceIm]
  columns.push(burst.residualRe, burst.residualIm, burst.referenceRe, burst.referenceIm)
  columns.push(burst.reliability, burst.phaseRe, burst.phaseIm)
  for (const column of columns) column.fill(Number.NaN, tones.length)
  let phase = firstPhase
  tones.forEach((tone, k) => {
    burst.tones[k] = tone
    burst.reliability[k] = 1
    burst.referenceRe[k] = 1
    if (tone === 1) {
      run.markRe[k] = markAmplitude * Math.cos(phase)
      run.markIm[k] = markAmplitude * Math.sin(phase)
    } else {
      run.spaceRe[k] = spaceAmplitude * Math.cos(phase + tilt)
      run.spaceIm[k] = spaceAmplitude * Math.sin(phase + tilt)
    }
    phase += (tone === 1 ? markStep : spaceTurnRadians + spaceStep) + driftOf(k)
  })
  return burst
}

/** Tones of a random look, the same each time: 0 and 1 as often, in runs of one to four. */
export const mixedTones = (count: number): number[] => {
  const once = '1011000110100111100101001110100010111001'
  return Array.from({ length: count }, (_, k) => Number(once[k % once.length]))
}
