// The robust detector: one decision a symbol, by comparing the powers of the two tones, at every timing phase and for
// several tone balances at once. It needs no acquisition at all, so it reads the first frame after a single flag,
// and knows nothing that a strange signal could contradict. The price: 3 to 4 dB against sequence detection.
import { createHdlcDecoder, type HdlcDecoder, type HdlcSegment } from '../framing/hdlcDecoder.js'
import { createCorrelatorBank, samplesPerSymbol, type TonePowers } from './correlatorBank.js'
import type { Detector, DetectorSink } from './detector.js'

/**
 * Assumed level of space over mark, dB. White noise wants about half of the real imbalance compensated (full compensation
 * lifts the weak tone's noise), so these cover a range of twice their own.
 */
export const toneBalancesDb = [-6, -3, 0, 3, 6] as const

/** Mean of the decision contrast from which on a damaged stretch counts as a signal: noise alone gives 0.5. */
const contrastOfSignal = 0.66

/** Longest stretch whose contrast is remembered, in samples; beyond, damage is not counted. */
const contrastHistory = 2 ** 17

/** @param onPowers sees the tone powers of each block too (carrier detection needs nothing else) */
export function createCorrelatorBankDetector(
  sink: DetectorSink,
  onPowers: (powers: TonePowers) => void = () => undefined,
): Detector {
  const name = 'correlators'
  const bank = createCorrelatorBank()
  const gains = toneBalancesDb.map((balanceDb) => 10 ** (balanceDb / 10))
  const levels = new Uint8Array(gains.length * samplesPerSymbol)
  // contrast[n] sums up every symbol so far that ended at n, n - 10, n - 20 ...
  const contrast = new Float64Array(contrastHistory)
  let position = 0

  const report = (segment: HdlcSegment): void => {
    const { start, end, octetsWithFcs, precedingFlags } = segment
    if (segment.fcsRight)
      sink.frame({
        octets: octetsWithFcs.slice(0, -2),
        start,
        end,
        precedingFlags,
        repairedBits: 0,
        detector: name,
      })
    else if (meanContrast(contrast, start, end) > contrastOfSignal) sink.damaged({ start, end })
  }
  const decoders: HdlcDecoder[] = Array.from(levels, () =>
    createHdlcDecoder({ wrongFcsToo: true }, report),
  )

  const decide = ({ mark, space }: TonePowers): void => {
    for (let index = 0; index < mark.length; index++) {
      const markPower = mark[index]!
      const spacePower = space[index]!
      noteContrast(contrast, position, markPower, spacePower)
      position++
      let decoderAt = position % samplesPerSymbol
      for (let balance = 0; balance < gains.length; balance++) {
        const level = markPower * gains[balance]! > spacePower ? 1 : 0
        decoders[decoderAt]!.push(level === levels[decoderAt] ? 1 : 0, position)
        levels[decoderAt] = level
        decoderAt += samplesPerSymbol
      }
    }
  }

  return {
    name,
    lateSamplesMax: 0,
    process(block) {
      const powers = bank.process(block.narrow)
      decide(powers)
      onPowers(powers)
    },
  }
}

/** Position n is the end of sample n - 1: a symbol that ends at position n has its powers at sample n - 1. */
function noteContrast(
  contrast: Float64Array,
  sample: number,
  markPower: number,
  spacePower: number,
): void {
  const sum = markPower + spacePower
  const ratio = sum > 0 ? Math.abs(markPower - spacePower) / sum : 0
  const before =
    sample < samplesPerSymbol ? 0 : contrast[(sample - samplesPerSymbol) % contrast.length]!
  contrast[sample % contrast.length] = before + ratio
}

function meanContrast(contrast: Float64Array, start: number, end: number): number {
  if (end - start > contrast.length - samplesPerSymbol || start < 1) return 0
  const atEnd = contrast[(end - 1) % contrast.length]!
  const atStart = contrast[(start - 1) % contrast.length]!
  return ((atEnd - atStart) * samplesPerSymbol) / (end - start)
}
