import { powerDb } from '../../numbers/power.js'
import { workingRateHz } from '../frontEnd/frontEnd.js'
import { highPassGain } from '../frontEnd/highPass.js'
import { markHz, spaceHz } from '../modulator.js'

interface Measured {
  readonly levelDbfs: number
  readonly toneBalanceDb: number
}

const gainDb = (toneHz: number): number => powerDb(highPassGain(toneHz / workingRateHz) ** 2)
const markGainDb = gainDb(markHz)
const spaceGainDb = gainDb(spaceHz)

/** Level and tone balance before the high-pass, of a signal that was measured behind it; each tone counts for half of the level. */
export const asHeard = <Values extends Measured>(values: Values): Values => ({
  ...values,
  levelDbfs: values.levelDbfs - (markGainDb + spaceGainDb) / 2,
  toneBalanceDb: values.toneBalanceDb - (spaceGainDb - markGainDb),
})
