// The robust detector: one decision a symbol, by comparing the powers of the two tones, at several timing phases and for
// several tone balances at once. It needs no acquisition at all, so it reads the first frame after a single flag,
// and knows nothing that a strange signal could contradict. The price: 3 to 4 dB against sequence detection.
import { createHdlcDecoder, type HdlcDecoder, type HdlcSegment } from '../framing/hdlcDecoder.js'
import { createCorrelatorBank, samplesPerSymbol, type TonePowers } from './correlatorBank.js'
import type { Detector, DetectorSink } from './detector.js'

/**
 * Assumed level of space over mark, dB. White noise wants about half of the real imbalance compensated (full compensation
 * lifts the weak tone's noise), so these cover a range of twice their own.
 */
export const toneBalancesDb = [-3, 0, 3] as const

/** Samples between two timing phases: the best one is at most one sample off, which costs 0.2 dB. */
const phaseStep = 2
const phaseCount = samplesPerSymbol / phaseStep

/** Mean of the decision contrast from which on a damaged stretch counts as a signal: noise alone gives 0.5. */
const contrastOfSignal = 0.66

/** Longest stretch whose contrast is remembered, in samples; beyond, damage is not counted. */
const contrastHistory = 2 ** 17

export const correlatorBankName = 'correlators'

/** @param onPowers sees the tone powers of each block too (carrier detection needs nothing else) */
export function createCorrelatorBankDetector(
  sink: DetectorSink,
  onPowers: (powers: TonePowers) => void = () => undefined,
): Detector {
  const name = correlatorBankName
  const bank = createCorrelatorBank()
  const gains = toneBalancesDb.map((balanceDb) => 10 ** (balanceDb / 10))
  const levels = new Uint8Array(gains.length * phaseCount)
  // contrast[n] sums up every symbol so far that ended at position n, n - 10, n - 20 ...
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
      position++
      if (position % phaseStep !== 0) continue
      const markPower = mark[index]!
      const spacePower = space[index]!
      noteContrast(contrast, position, markPower, spacePower)
      let decoderAt = (position / phaseStep) % phaseCount
      for (let balance = 0; balance < gains.length; balance++) {
        const level = markPower * gains[balance]! > spacePower ? 1 : 0
        decoders[decoderAt]!.push(level === levels[decoderAt] ? 1 : 0, position)
        levels[decoderAt] = level
        decoderAt += phaseCount
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

function noteContrast(
  contrast: Float64Array,
  position: number,
  markPower: number,
  spacePower: number,
): void {
  const sum = markPower + spacePower
  const ratio = sum > 0 ? Math.abs(markPower - spacePower) / sum : 0
  const before =
    position < samplesPerSymbol ? 0 : contrast[(position - samplesPerSymbol) % contrast.length]!
  contrast[position % contrast.length] = before + ratio
}

function meanContrast(contrast: Float64Array, start: number, end: number): number {
  if (end - start > contrast.length - samplesPerSymbol || start < 0) return 0
  const total = contrast[end % contrast.length]! - contrast[start % contrast.length]!
  return (total * samplesPerSymbol) / (end - start)
}
