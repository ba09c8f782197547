import { measureSpectrum } from '../../measure/spectrum.js'
import { powerDb } from '../../numbers/power.js'
import { workingRateHz } from '../frontEnd/frontEnd.js'
import type { DamagedFrame } from '../receivedFrame.js'

/** About each tone: a third of their distance, so that what one leaves beside itself does not count for the other. */
const halfWidthHz = 150
const markHz = 1200
const spaceHz = 2200

/** What can be said of a frame whose bits are not known. @param samples of it, at the working rate */
export function measureDamaged(
  samples: Float32Array,
): Pick<DamagedFrame, 'levelDbfs' | 'toneBalanceDb'> {
  let squares = 0
  for (const sample of samples) squares += sample * sample
  const { binHz, densityDbfsPerHz } = measureSpectrum(samples, {
    sampleRateHz: workingRateHz,
    size: 256,
  })
  const powerAbout = (toneHz: number): number => {
    let sum = 0
    for (const [bin, density] of densityDbfsPerHz.entries())
      if (Math.abs(bin * binHz - toneHz) <= halfWidthHz) sum += 10 ** (density / 10)
    return sum
  }
  return {
    levelDbfs: powerDb(squares / Math.max(1, samples.length)),
    toneBalanceDb: powerDb(powerAbout(spaceHz)) - powerDb(powerAbout(markHz)),
  }
}
