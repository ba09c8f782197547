import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import { composed } from './compose.js'
import { ageWords } from './geo/words.js'
import type { Service, ServiceContext } from './service.js'

/** Measured on so many of a station's last frames at most. */
const framesMax = 5
/** Older measurements are of another set-up or another place. */
const measuredWithinMs = 12 * 3_600_000

/** `signal`: what the node measured on the asker's own frames, and what to do about it. */
export const signalService: Service = {
  keyword: 'signal',
  summary: 'How your last frames sounded here, with advice',
  usage: 'signal',
  answer(question, context) {
    const nowMs = context.clock.wallMs()
    const measured = context.stations
      .signals(question.from, framesMax)
      .filter(({ atWallMs }) => nowMs - atWallMs <= measuredWithinMs)
    if (measured.length === 0) return whyNone(question.from, context)
    // At two bit rates, of the latest one.
    const { bitRate } = measured[0]!.quality
    const mean = meanOf(
      measured.map(({ quality }) => quality).filter((quality) => quality.bitRate === bitRate),
    )
    const age = ageWords(nowMs - measured[0]!.atWallMs)
    const { length } = measured.filter(({ quality }) => quality.bitRate === bitRate)
    const fresh = length === 1 ? 'Last frame' : `Last ${length} frames`
    return composed([
      `${age === 'now' ? fresh : `Last ${length}, ${age} ago`}: ${figureWords(mean)}`,
      adviceOn(mean, othersLevelDbfs(question.from, context)).slice(0, 2).join('. '),
    ])
  },
}

function whyNone(from: string, context: ServiceContext): string {
  const station = context.stations.find(from)
  if (station === undefined) return 'You were not heard here yet.'
  const { via } = station
  if (via.length > 0 && via[0] !== 'direct')
    return `Not heard directly, only via ${via[0]}: no figures. Send without path.`
  return 'Nothing was measured on your frames: this radio gives no figures.'
}

type Means = Pick<
  SignalQuality,
  | 'levelDbfs'
  | 'toneBalanceDb'
  | 'toneOffsetHz'
  | 'symbolRateErrorPpm'
  | 'ebN0Db'
  | 'clippedShare'
  | 'bitRate'
> & { readonly preambleFlags: number }

function meanOf(all: readonly SignalQuality[]): Means {
  const mean = (of: (quality: SignalQuality) => number): number =>
    all.reduce((sum, quality) => sum + of(quality), 0) / all.length
  return {
    levelDbfs: mean((quality) => quality.levelDbfs),
    toneBalanceDb: mean((quality) => quality.toneBalanceDb),
    toneOffsetHz: mean((quality) => quality.toneOffsetHz),
    symbolRateErrorPpm: mean((quality) => quality.symbolRateErrorPpm),
    ebN0Db: mean((quality) => quality.ebN0Db),
    clippedShare: mean((quality) => quality.clippedShare),
    bitRate: all[0]?.bitRate,
    // The shortest is the one that gets lost.
    preambleFlags: Math.min(...all.map((quality) => quality.preambleFlags)),
  }
}

/** `Eb/N0 21dB, -14dBFS, space -7dB, offset +12Hz`. */
function figureWords(mean: Means): string {
  return [
    `Eb/N0 ${Math.round(mean.ebN0Db)}dB`,
    `${Math.round(mean.levelDbfs)}dBFS`,
    ...(mean.bitRate === 9600
      ? [`4 kHz ${signed(mean.toneBalanceDb)}dB`]
      : [`space ${signed(mean.toneBalanceDb)}dB`, `offset ${signed(mean.toneOffsetHz)}Hz`]),
  ].join(', ')
}

const signed = (value: number): string => {
  const whole = Math.round(value)
  return whole > 0 ? `+${whole}` : String(Object.is(whole, -0) ? 0 : whole)
}

/** '+1.2%'. */
const percent = (ppm: number): string => `${ppm > 0 ? '+' : ''}${(ppm / 10_000).toFixed(1)}%`

/** Middle level of the other stations heard direct; undefined when too few to compare with. */
function othersLevelDbfs(from: string, context: ServiceContext): number | undefined {
  const levels = context.stations
    .recent(30)
    .filter((station) => station.call !== from && station.via[0] === 'direct')
    .flatMap((station) => station.quality?.levelDbfs ?? [])
    .sort((a, b) => a - b)
  return levels.length < 3 ? undefined : levels[levels.length >> 1]
}

/**
 * The worst faults in plain words, gravest first. Limits: with flat audio both tones are alike and pre-emphasis alone
 * makes 5 dB of difference, so 5 dB is worth a word and 3 dB is not; FM audio level follows deviation
 * (common practice, no source).
 */
function adviceOn(mean: Means, othersDbfs: number | undefined): string[] {
  const advice: string[] = []
  if (mean.clippedShare > 0.01) advice.push('Audio clips here: lower your deviation')
  const overDb = othersDbfs === undefined ? 0 : mean.levelDbfs - othersDbfs
  if (overDb >= 5) advice.push(`${Math.round(overDb)} dB louder than others: lower your audio`)
  if (overDb <= -5) advice.push(`${Math.round(-overDb)} dB weaker than others: raise your audio`)
  advice.push(...balanceAdvice(mean))
  if (Math.abs(mean.toneOffsetHz) >= 40)
    advice.push(`Your tones are ${signed(mean.toneOffsetHz)} Hz off: the modem may need service`)
  if (Math.abs(mean.symbolRateErrorPpm) >= 2000)
    advice.push(
      `Your bit rate is ${percent(mean.symbolRateErrorPpm)} off: the modem may need service`,
    )
  if ((mean.preambleFlags * 1200) / (mean.bitRate ?? 1200) < 16)
    advice.push('Short preamble: raise your TX delay')
  if (mean.ebN0Db < 10) advice.push('Weak here: more height, power or a better place')
  return advice.length === 0 ? ['Your signal is good: change nothing.'] : advice
}

function balanceAdvice({ toneBalanceDb, bitRate }: Means): string[] {
  const highDb = Math.round(toneBalanceDb)
  if (Math.abs(highDb) < 5) return []
  if (bitRate === 9600) return [`4 kHz is ${Math.abs(highDb)} dB off: 9600 wants a flat input`]
  return highDb < 0
    ? [`Space tone ${-highDb} dB low: use pre-emphasis or a flat input`]
    : [`Space tone ${highDb} dB high: pre-emphasis is on twice?`]
}
