// The robust detector: one decision a symbol, by comparing the powers of the two tones, at several timing phases and for
// several tone balances at once. It needs no acquisition at all, so it reads the first frame after a single flag,
// and knows nothing that a strange signal could contradict. The price: 3 to 4 dB against sequence detection.
import { createHdlcDecoder, type HdlcDecoder, type HdlcSegment } from '../../framing/hdlcDecoder.js'
import type { DetectorSink, RestartableDetector } from '../detector.js'
import { bandPassReach, createBandPass } from '../frontEnd/bandPass.js'
import { createCorrelatorBank, samplesPerSymbol, type TonePowers } from './correlatorBank.js'

/**
 * Assumed level of space over mark, dB. White noise wants about half of the real imbalance compensated (full compensation
 * lifts the weak tone's noise), so these cover a range of twice their own.
 */
const toneBalancesDb = [-3, 0, 3] as const

/** Samples between two timing phases: the best one is at most one sample off, which costs 0.2 dB. */
const phaseStep = 2
const phaseCount = samplesPerSymbol / phaseStep

/** Mean of the decision contrast from which on a damaged segment counts as a signal: noise alone gives 0.5. */
const contrastOfSignal = 0.66

/** Longest segment whose contrast is remembered, in samples; beyond, damage is not counted. */
const contrastHistory = 2 ** 17
/** Nothing is decided between two timing phases. */
const contrastAt = (position: number): number => (position % contrastHistory) / phaseStep

export const correlatorBankName = 'correlators'

export function createCorrelatorBankDetector(sink: DetectorSink): RestartableDetector {
  const name = correlatorBankName
  const bandPass = createBandPass()
  const bank = createCorrelatorBank()
  const gains = Float64Array.from(toneBalancesDb, (balanceDb) => 10 ** (balanceDb / 10))
  const levels = new Uint8Array(gains.length * phaseCount)
  // contrast[n] sums up every symbol so far that ended at position n, n - 10, n - 20 ...
  const contrast = new Float64Array(contrastHistory / phaseStep)
  let position = 0
  let restartedAt = 0

  const report = (segment: HdlcSegment): void => {
    const { start, end, octetsWithFcs, precedingFlags } = segment
    if (segment.fcsRight)
      sink.frame({
        octets: octetsWithFcs.slice(0, -2),
        startSample: start,
        endSample: end,
        precedingFlags,
        repairedBits: 0,
        detector: name,
      })
    else if (start > restartedAt && meanContrast(contrast, start, end) > contrastOfSignal)
      sink.damaged({ startSample: start, endSample: end })
  }
  const decoders: HdlcDecoder[] = Array.from(levels, () =>
    createHdlcDecoder({ wrongFcsToo: true, positionsPerBit: samplesPerSymbol }, report),
  )

  const noteContrast = (at: number, markPower: number, spacePower: number): void => {
    const sum = markPower + spacePower
    const ratio = sum > 0 ? Math.abs(markPower - spacePower) / sum : 0
    const symbolAgo = at - samplesPerSymbol
    const before = symbolAgo > restartedAt ? contrast[contrastAt(symbolAgo)]! : 0
    contrast[contrastAt(at)] = before + ratio
  }

  const decide = ({ count, mark, space }: TonePowers): void => {
    const first = position + 1
    position += count
    for (let index = first % phaseStep; index < count; index += phaseStep) {
      const at = first + index
      const markPower = mark[index]!
      const spacePower = space[index]!
      noteContrast(at, markPower, spacePower)
      let decoder = (at / phaseStep) % phaseCount
      for (let balance = 0; balance < gains.length; balance++) {
        const level = markPower * gains[balance]! > spacePower ? 1 : 0
        decoders[decoder]!.push(level === levels[decoder] ? 1 : 0, at)
        levels[decoder] = level
        decoder += phaseCount
      }
    }
  }

  const process = (samples: Float32Array): void => decide(bank.process(bandPass.process(samples)))

  return {
    name,
    process,
    finish: () => process(new Float32Array(bandPassReach)),
    restart(at) {
      bandPass.reset()
      bank.reset()
      for (const decoder of decoders) decoder.reset()
      position = at
      restartedAt = at
    },
  }
}

function meanContrast(contrast: Float64Array, start: number, end: number): number {
  if (end - start > contrastHistory - samplesPerSymbol || start < 0) return 0
  const total = contrast[contrastAt(end)]! - contrast[contrastAt(start)]!
  return (total * samplesPerSymbol) / (end - start)
}
