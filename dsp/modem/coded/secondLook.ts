// The second pass over a stretch that carries check octets: its tones, and what it would cost the decision to leave the best
// path at each symbol, by which the least certain octets are known.
import { createDecisionRecord, departureCosts, runTrellis } from '../secondPass/decision.js'
import { type FirstGuess, fitBurst } from '../secondPass/fit.js'
import { burstSymbolsMax, createBurst } from '../secondPass/model.js'
import type { ToneCorrelations } from '../sequence/toneCorrelations.js'

/** Symbols before and after the stretch that help to fit. */
const leadSymbols = 24
const trailSymbols = 8

/** What the first pass knows. */
export type FirstPass = Omit<FirstGuess, 'firstSymbol' | 'symbolCount' | 'startsWithSignal'> & {
  /** symbols decided so far */
  readonly count: number
}

export interface SecondLook {
  /** from the symbol before the stretch on; used again by the next look */
  readonly tones: Uint8Array
  /** by the last symbol at which the runner-up differs, likewise */
  readonly costs: Float64Array
}

/** @returns undefined where no signal can be fitted */
export type LookAgain = (
  firstSymbol: number,
  endSymbol: number,
  guess: FirstPass,
) => SecondLook | undefined

export function createSecondLook(correlations: ToneCorrelations): LookAgain {
  // Made when the first block with check octets comes: most channels have none.
  let memory: ReturnType<typeof createMemory> | undefined
  return (firstSymbol, endSymbol, guess) => {
    memory ??= createMemory()
    const { burst, record, costs } = memory
    const from = Math.max(0, firstSymbol - leadSymbols)
    const to = Math.min(guess.count, endSymbol + trailSymbols)
    const place = { firstSymbol: from, symbolCount: to - from, startsWithSignal: false }
    if (to - from > burstSymbolsMax) return undefined
    if (!fitBurst(burst, record, correlations, { ...guess, ...place })) return undefined
    runTrellis(burst, record)
    departureCosts(burst, record, burst.tones, costs)
    const before = firstSymbol - from - 1
    return { tones: burst.tones.subarray(before), costs: costs.subarray(before) }
  }
}

const createMemory = () => ({
  burst: createBurst(),
  record: createDecisionRecord(),
  costs: new Float64Array(burstSymbolsMax),
})
