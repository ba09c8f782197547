import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import type { Wording } from '../words/air/wording.js'
import { composed } from './compose.js'
import { spanWords } from './geo/words.js'
import type { Service, ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

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
    const alike = measured.filter(({ quality }) => quality.bitRate === bitRate)
    const wording = wordingOf(context)
    const mean = meanOf(alike.map(({ quality }) => quality))
    const figures = figureWords(mean, wording)
    const advice = adviceOn(mean, othersLevelDbfs(question.from, context), wording)
    return composed([
      lastText(alike.length, nowMs - measured[0]!.atWallMs, figures, wording),
      advice.slice(0, 2).join('. '),
    ])
  },
}

function lastText(count: number, ageMs: number, figures: string, wording: Wording): string {
  const { say } = wording
  // What is said of one that is some minutes old, with its age.
  if (ageMs >= nowWithinMs)
    return say('lastFramesAgo', { count, age: spanWords(ageMs, wording), figures })
  return count === 1 ? say('lastFrame', { figures }) : say('lastFrames', { count, figures })
}

/** Half a minute: as ageWords has it. */
const nowWithinMs = 30_000

function whyNone(from: string, context: ServiceContext): string {
  const { say } = wordingOf(context)
  const station = context.stations.find(from)
  if (station === undefined) return say('youNotHeard')
  const { via } = station
  if (via.length > 0 && via[0] !== 'direct') return say('onlyVia', { via: via[0]! })
  return say('noFigures')
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
function figureWords(mean: Means, { say }: Wording): string {
  const figures = {
    ebN0: Math.round(mean.ebN0Db),
    level: Math.round(mean.levelDbfs),
    balance: signed(mean.toneBalanceDb),
  }
  return mean.bitRate === 9600
    ? say('figures9600', figures)
    : say('figures', { ...figures, offset: signed(mean.toneOffsetHz) })
}

const signed = (value: number): string => {
  const whole = Math.round(value)
  return whole > 0 ? `+${whole}` : String(Object.is(whole, -0) ? 0 : whole)
}

/** '+1.2'. */
const percentOf = (ppm: number, { decimal }: Wording): string =>
  `${ppm > 0 ? '+' : ''}${decimal((ppm / 10_000).toFixed(1))}`

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
function adviceOn(mean: Means, othersDbfs: number | undefined, wording: Wording): string[] {
  const { say } = wording
  const advice: string[] = []
  if (mean.clippedShare > 0.01) advice.push(say('clips'))
  const overDb = othersDbfs === undefined ? 0 : mean.levelDbfs - othersDbfs
  if (overDb >= 5) advice.push(say('tooLoud', { count: Math.round(overDb) }))
  if (overDb <= -5) advice.push(say('tooWeak', { count: Math.round(-overDb) }))
  advice.push(...balanceAdvice(mean, wording))
  if (Math.abs(mean.toneOffsetHz) >= 40)
    advice.push(say('tonesOff', { offset: signed(mean.toneOffsetHz) }))
  if (Math.abs(mean.symbolRateErrorPpm) >= 2000)
    advice.push(say('bitRateOff', { percent: percentOf(mean.symbolRateErrorPpm, wording) }))
  if ((mean.preambleFlags * 1200) / (mean.bitRate ?? 1200) < 16) advice.push(say('shortPreamble'))
  if (mean.ebN0Db < 10) advice.push(say('weak'))
  return advice.length === 0 ? [say('signalGood')] : advice
}

function balanceAdvice({ toneBalanceDb, bitRate }: Means, { say }: Wording): string[] {
  const highDb = Math.round(toneBalanceDb)
  const count = Math.abs(highDb)
  if (count < 5) return []
  if (bitRate === 9600) return [say('balanceOff9600', { count })]
  return [highDb < 0 ? say('spaceLow', { count }) : say('spaceHigh', { count })]
}
