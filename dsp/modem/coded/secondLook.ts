// The second pass over a stretch that carries check octets: its tones, and where the decision may be wrong at what cost, by
// which the least certain octets are known.
import {
  createDecisionRecord,
  type Departure,
  decideWithDepartures,
  runTrellis,
} from '../secondPass/decision.js'
import { type FirstGuess, fitBurst } from '../secondPass/fit.js'
import { burstSymbolsMax, createBurst } from '../secondPass/model.js'
import { symbolCapacity } from '../sequence/symbols.js'
import type { ToneCorrelations } from '../sequence/toneCorrelations.js'

/** Symbols before and after the stretch that help to fit. */
const leadSymbols = 24
const trailSymbols = 8

/**
 * Fits, each from the tones of the one before: where every tenth tone is wrong, as check octets still bear, the first one does
 * not get near.
 */
const fits = 3

/** A departure that costs more is right once in three million times. */
const costMax = 15

/** What the first pass knows. */
export type FirstPass = Omit<FirstGuess, 'firstSymbol' | 'symbolCount' | 'startsWithSignal'> & {
  /** symbols decided so far */
  readonly count: number
}

export interface SecondLook {
  /** from the symbol before the stretch on; used again by the next look */
  readonly tones: Uint8Array
  /** its symbols counted likewise, the cheapest first */
  readonly departures: readonly Departure[]
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
    const { burst, record } = memory
    const from = Math.max(0, firstSymbol - leadSymbols)
    const to = Math.min(guess.count, endSymbol + trailSymbols)
    const place = { firstSymbol: from, symbolCount: to - from, startsWithSignal: false }
    if (to - from > burstSymbolsMax) return undefined
    const { tones } = memory
    for (let k = from; k < to; k++) tones[k & guess.mask] = guess.tones[k & guess.mask]!
    let isFitted = false
    for (let round = 0; round < fits; round++) {
      isFitted = fitBurst(burst, record, correlations, { ...guess, ...place, tones })
      for (let k = from; k < to; k++) tones[k & guess.mask] = burst.tones[k - from]!
    }
    if (!isFitted) return undefined
    runTrellis(burst, record)
    const departures = decideWithDepartures(burst, record, burst.tones, costMax)
    const before = firstSymbol - from - 1
    return {
      tones: burst.tones.subarray(before),
      departures: departures
        .map(({ cost, symbols }) => ({ cost, symbols: symbols.map((symbol) => symbol - before) }))
        .sort((a, b) => a.cost - b.cost),
    }
  }
}

const createMemory = () => ({
  burst: createBurst(),
  record: createDecisionRecord(),
  tones: new Uint8Array(symbolCapacity),
})
