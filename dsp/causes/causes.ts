// Why was a frame lost? Each cause has its own test on the signs; several may hold at once. The limits were found by trial on
// recordings whose cause is known (test/channel/lostFrames.ts), and tried on others (npm run bench -- causes).
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { powerDb } from '../numbers/power.js'
import type { SampleRange } from './audioSigns.js'
import { echoShareMin } from './echoSign.js'
import { rhythmWindows } from './flagRhythm.js'
import { middleOf, pieceSamples } from './pieceFits.js'
import { crashSamples, secondSignal } from './secondSignal.js'
import { buzzShareMin, rawClicksMin, rawCrashSamples, type Signs } from './signs.js'
import { slipAt } from './slip.js'
import { type Timeline, timelineOf } from './timeline.js'

/** What was wrong, with its figures. Ratios of levels are dB over the signal's; times count from the first sample of what was lost. */
export type Cause =
  | { readonly kind: 'noise'; readonly ebN0Db: number }
  | { readonly kind: '2200 Hz low' | '2200 Hz high'; readonly db: number }
  /** of a signal at 9600 bit/s, against 400 Hz */
  | { readonly kind: '4 kHz low' | '4 kHz high'; readonly db: number }
  | { readonly kind: 'noise at 9600' }
  /** of its samples, 0 to 1 */
  | { readonly kind: 'clipping'; readonly share: number }
  | { readonly kind: 'hum' | 'sub-audible tone'; readonly hz: number; readonly overDb: number }
  /** amplitude over that of the direct signal, negative where it comes inverted */
  | { readonly kind: 'echo'; readonly delayMs: number; readonly gain: number }
  | {
      readonly kind: 'clicks'
      readonly count: number
      readonly perSecond: number
      /** they are bursts of several milliseconds */
      readonly isCrash: boolean
    }
  | { readonly kind: 'slip' | 'collision'; readonly atS: number }
  | { readonly kind: 'off-tune'; readonly hz: number }
  | { readonly kind: 'short preamble' }

export type CauseKind = Cause['kind']

/** A signal in noise alone that is stronger than this is read, but for its fades; with another trouble noise is named below 7 dB. */
export const readEbN0Db = 9
const readWithTroubleEbN0Db = 7
/** An echo fills the gaps of the spectrum by which the noise is measured. */
const readWithEchoEbN0Db = 5

/** A cause, and where in the audio it shows; nowhere when it is there all the time. */
export interface PlacedCause {
  readonly cause: Cause
  readonly ranges: readonly SampleRange[]
}

/**
 * @param startS when the stretch begins, by the clock by which moments are told
 * @returns the likely causes; none where the signal was clean
 */
export function causesOf(signs: Signs, startS: number): PlacedCause[] {
  // What came before a second signal has only its own troubles.
  const alone = signs.before === undefined ? signs : { ...signs, ...signs.before }
  const steady = steadyCauses(alone)
  const timeline = timelineOf(signs)
  const isClipped = isAmong(steady, 'clipping')
  const isLopsided = Math.abs(signs.toneBalanceDb) > lopsidedDb
  const second = signs.second ?? shortSecond(signs, timeline, steady, isLopsided || isClipped)
  const clicks = isClipped ? undefined : clicksOf(signs, steady, second)
  const atS = (sample: number): number => startS + (sample - signs.fromSample) / workingRateHz
  const found: PlacedCause[] = steady.map((cause) => ({
    cause,
    ranges: cause.kind === 'clipping' ? signs.clipped : [],
  }))
  if (second !== undefined)
    found.push({ cause: { kind: 'collision', atS: atS(second.from) }, ranges: [second] })
  if (clicks !== undefined) found.push(clicks)
  const isChanged =
    isClipped || isAmong(steady, 'hum') || Math.abs(signs.toneBalanceDb) > balanceDbMin
  // Dense clicks leave little, and what is left of a weak tone is clipped away.
  const canStart =
    second === undefined &&
    !(clicks !== undefined && signs.ebN0Db < readEbN0Db) &&
    !(isClipped && isLopsided)
  const search = {
    leastDb: isChanged ? startDbMinChanged : startDbMin,
    // Where hum began with the signal, some of it is left there; and what fits a weak tone goes up and down.
    fallDb: isAmong(steady, 'hum') || Math.abs(signs.toneBalanceDb) > balanceDbMin ? 8 : 5,
    isHit: clicks !== undefined,
  }
  if (canStart && startsWithin(signs, timeline, search)) {
    const to = beginningOf(signs, timeline)
    found.push({ cause: { kind: 'short preamble' }, ranges: [{ from: 0, to }] })
  }
  const isFitting = found.every(({ cause }) => fitting.includes(cause.kind))
  const isNearlyFitting = found.every(
    ({ cause }) =>
      nearlyFitting.includes(cause.kind) || (isLopsided && unequal.includes(cause.kind)),
  )
  const slip = slipAt(signs, timeline, {
    alone:
      !isNearlyFitting || (isLopsided && !isEven(signs, timeline))
        ? undefined
        : isFitting
          ? { fallDb: 5, misfitDb: 1 }
          : { fallDb: 8, misfitDb: 3 },
    second,
  })
  if (slip !== undefined)
    found.push({ cause: { kind: 'slip', atS: atS(slip.atSample) }, ranges: [slip] })
  // Clicks are noise, and a clipped signal's own harmonics stand where noise would.
  const canTell = !isClipped && clicks === undefined && Math.abs(signs.toneBalanceDb) < hopelessDb
  const causes = found.map(({ cause }) => cause)
  if (canTell && isNoisy(alone, timeline, causes, alone !== signs))
    found.push({ cause: { kind: 'noise', ebN0Db: signs.ebN0Db }, ranges: weakIn(signs, timeline) })
  return found
}

/** All but few of its pieces fit equally well, so that one which does not stands out. */
function isEven({ pieces, firstPiece, endPiece }: Signs, { goodDb }: Timeline): boolean {
  const inside = pieces.slice(firstPiece + 1, endPiece - 1).map(({ ebN0Db }) => ebN0Db)
  const low = inside.toSorted((a, b) => a - b)[Math.floor(unevenShare * inside.length)]
  return low !== undefined && low > goodDb - evenDb
}
const unevenShare = 0.15
const evenDb = 3.5

/** A short one; hiss before a signal that begins within its frame is none. */
function shortSecond(
  signs: Signs,
  timeline: Timeline,
  steady: readonly Cause[],
  isBent: boolean,
): SampleRange | undefined {
  const second = secondSignal(signs, timeline, isBent || isAmong(steady, 'echo'))
  if (second === undefined) return undefined
  const isAtStart = second.from < beginningOf(signs, timeline)
  // Where a tone was taken out, its ends are left.
  if (isAtStart && isAmong(steady, 'sub-audible tone')) return undefined
  // Nor do clicks that were bridged fit.
  if (isAtStart && signs.rawClicks.length >= rawClicksMin) return undefined
  const search = { leastDb: startDbMinChanged, fallDb: 5, isHit: true }
  return isAtStart && startsWithin(signs, timeline, search) ? undefined : second
}

/** Of the others, some pieces do not fit; or a little. */
const fitting: readonly CauseKind[] = ['short preamble', 'collision']
const nearlyFitting: readonly CauseKind[] = [...fitting, 'sub-audible tone', 'clipping', 'hum']

/** And of a tone that is weak but steady. */
const unequal: readonly CauseKind[] = ['2200 Hz low', '2200 Hz high']

const isAmong = (causes: readonly Cause[], wanted: CauseKind): boolean =>
  causes.some(({ kind }) => kind === wanted)

/** Beyond this, symbols of the weak tone are often decided wrongly, and what the fit leaves goes up and down with them. */
const lopsidedDb = 12
/** Beyond this the weak tone is not found at all, and nearly every second symbol is decided wrongly. */
const hopelessDb = 25
/** Samples at the converter's limits: fewer do no harm, since a limiter does not move zero crossings. */
const clippedShareMin = 0.02
/** Mains hum so far below the signal hardly reaches the detectors. */
const humOverDbMin = -6
/** What the receiver takes without harm: 44 of 50 frames with 6 dB (a trial), and 3 dB here for what else is wrong. */
const subAudibleOverDbMin = 3
/** Nothing else explains so much of what does not fit. */
const clearEchoShare = 0.1
/** The receiver follows 100 Hz by itself. */
const offTuneHzMin = 100
/** One missing or doubled de-emphasis makes 20 log10(2200 / 1200) = 5.3 dB, which is read without loss. */
const balanceDbMin = 8
/** An echo strengthens one tone and weakens the other. */
const balanceDbMinWithEcho = 18
/** So do the harmonics of a clipped one: 13 dB in one of 55 recordings, less where the signal is clear. */
const balanceDbMinClipped = 15
const balanceDbMinClippedClear = 12
const clearClippedDb = 8.5

/** Of what is hardly there no balance can be told. */
const noSignalDb = -8

/** Between clicks a signal may hardly be there, and behind the converter's limits it is another. */
function balanceEbN0DbMin(signs: Signs): number {
  if (isSignalClipped(signs)) return 4
  return signs.rawClicks.length >= rawClicksMin ? 0 : Number.NEGATIVE_INFINITY
}

/** Of a signal that is far below full scale only hiss or clicks are clipped. */
const clippedAmplitudeMin = 0.45
/** So much is not noise: an offset drives the signal into the limit. */
const clippedShareSure = 0.25

function isSignalClipped({ clippedShare, signalPower }: Signs): boolean {
  const amplitude = Math.sqrt(2 * signalPower)
  return (
    clippedShare > clippedShareSure ||
    (clippedShare > clippedShareMin && amplitude > clippedAmplitudeMin)
  )
}

/** In the spectrum: of what filters, and hum that was taken out, do to it, nothing swings so often and so much. */
const swingDelayMsMin = 0.75
const swingGainMin = 0.28
const swingShareMin = 0.24
/** Where the spectrum shows it, too, and little fits at all. */
const hintShareMin = 0.012
const hintDbMax = 8

function isEchoed({ echo, comb, ebN0Db, floorEbN0Db }: Signs): boolean {
  const isSwing =
    comb.delayMs > swingDelayMsMin &&
    Math.abs(comb.gain) > swingGainMin &&
    comb.share > swingShareMin
  if (isSwing && echo.share > hintShareMin && ebN0Db < hintDbMax) return true
  if (floorEbN0Db < ebN0Db + 2) return false
  return echo.share > clearEchoShare || (isSwing && echo.share > echoShareMin && ebN0Db < 12)
}

/** What is there all the time. */
function steadyCauses(signs: Signs): Cause[] {
  const { low, buzz, echo, ebN0Db, toneOffsetHz, toneBalanceDb } = signs
  const found: Cause[] = []
  const overSignal = (power: number): number => powerDb(power / signs.signalPower)
  if (isSignalClipped(signs)) found.push({ kind: 'clipping', share: signs.clippedShare })
  for (const { hz, share } of buzz) {
    const overDb = low.mains?.hz === hz ? overSignal(low.mains.power) : Number.NEGATIVE_INFINITY
    if (overDb > humOverDbMin || share > buzzShareMin) found.push({ kind: 'hum', hz, overDb })
  }
  if (low.subAudible !== undefined) {
    const { hz, power } = low.subAudible
    const overDb = overSignal(power)
    if (overDb > subAudibleOverDbMin) found.push({ kind: 'sub-audible tone', hz, overDb })
  }
  // Of noise no offset can be told; what fits badly by an echo is none.
  const leastDb = echo.share > clearEchoShare ? 1 : 4
  if (Math.abs(toneOffsetHz) > offTuneHzMin && ebN0Db > leastDb)
    found.push({ kind: 'off-tune', hz: toneOffsetHz })
  const isEcho = Math.abs(toneBalanceDb) < balanceDbMinWithEcho && isEchoed(signs)
  if (isEcho) found.push({ kind: 'echo', delayMs: echo.delayMs, gain: echo.gain })
  const isBent = isSignalClipped(signs)
  const clippedLimitDb = ebN0Db > clearClippedDb ? balanceDbMinClippedClear : balanceDbMinClipped
  const limitDb = isEcho ? balanceDbMinWithEcho : isBent ? clippedLimitDb : balanceDbMin
  const isTold = ebN0Db > Math.max(noSignalDb, balanceEbN0DbMin(signs))
  if (isTold && toneBalanceDb < -limitDb) found.push({ kind: '2200 Hz low', db: -toneBalanceDb })
  if (isTold && toneBalanceDb > limitDb) found.push({ kind: '2200 Hz high', db: toneBalanceDb })
  return found
}

/** Flat audio as received had below 1 dB. */
const slopeDbMax = 4

/** At 9600 bit/s. @param slopeDb how much louder 4 kHz comes than 400 Hz */
export function slopeCauses(slopeDb: number): Cause[] {
  if (slopeDb < -slopeDbMax) return [{ kind: '4 kHz low', db: -slopeDb }]
  return slopeDb > slopeDbMax ? [{ kind: '4 kHz high', db: slopeDb }] : [{ kind: 'noise at 9600' }]
}

/** Where the signal is too weak to be read. */
function weakIn({ pieces }: Signs, { first, end }: Timeline): SampleRange[] {
  const found: SampleRange[] = []
  let wasWeak = false
  for (const { ebN0Db, startSample } of pieces.slice(first, end)) {
    const isWeak = ebN0Db < readEbN0Db
    const to = startSample + pieceSamples
    if (isWeak && wasWeak) found[found.length - 1] = { ...found.at(-1)!, to }
    else if (isWeak) found.push({ from: startSample, to })
    wasWeak = isWeak
  }
  return found
}

function isNoisy(
  signs: Signs,
  { fades }: Timeline,
  found: readonly Cause[],
  isAlone: boolean,
): boolean {
  // What the fit leaves is more than noise then.
  const isHidden = isAmong(found, 'hum') || isAmong(found, 'echo')
  const clearDb = isHidden ? Math.max(signs.floorEbN0Db, signs.ebN0Db) : signs.ebN0Db
  if (found.length === 0) return clearDb < readEbN0Db || fades || isWeakForLong(signs)
  // What does not fit beside a second signal is that signal.
  if (isAmong(found, 'collision') && !isAlone) return false
  return clearDb < (isAmong(found, 'echo') ? readWithEchoEbN0Db : readWithTroubleEbN0Db)
}

/** Behind an FM receiver a signal that fades is as loud as before: its noise alone tells. */
function isWeakForLong({ pieces, firstPiece, endPiece }: Signs): boolean {
  const inside = pieces.slice(firstPiece + 1, endPiece - 1)
  return inside.filter(({ ebN0Db }) => ebN0Db < weakEbN0Db).length >= weakPiecesMin
}
const weakEbN0Db = 6
const weakPiecesMin = 2

/**
 * Clicks by ignition and switches, or crashes; not those by which an FM receiver's noise begins to show, nor those that two
 * carriers make together.
 */
function clicksOf(
  signs: Signs,
  found: readonly Cause[],
  second: SampleRange | undefined,
): PlacedCause | undefined {
  const { betweenEbN0Db, rawClicks } = signs
  const bursts = signs.bursts.filter(
    (one) =>
      second === undefined ||
      one.lastSample < second.from - pieceSamples ||
      one.firstSample > second.to + pieceSamples,
  )
  const samples = bursts.reduce((sum, one) => sum + 1 + one.lastSample - one.firstSample, 0)
  // Where a tone was taken out, its ends are left.
  const hasTone = isAmong(found, 'hum') || isAmong(found, 'sub-audible tone')
  // Where a tone began or ended, what is left of it is high for a while.
  const spread = (rawClicks.at(-1)?.to ?? 0) - (rawClicks[0]?.from ?? 0)
  const isSpread = spread > toneEndShare * (signs.toSample - signs.fromSample)
  const areHigh = rawClicks.length >= rawClicksMin && (isSpread || !hasTone)
  const isRawCrash = rawClicks.some(({ from, to }) => to - from >= rawCrashSamples)
  const areMany = bursts.length >= (hasTone ? 10 : 3) || samples > crashSamples
  const isLopsided = Math.abs(signs.toneBalanceDb) > lopsidedDb
  // Where an FM receiver begins to click by itself there is noise between the clicks, too.
  const clearDb = rawClicks.length > 0 ? readEbN0Db : clearEbN0Db
  const areClicks = areMany && !isLopsided && betweenEbN0Db > clearDb && !fadesAtBursts(signs)
  if (!areHigh && !isRawCrash && !areClicks) return undefined
  const ranges = bursts.map(({ firstSample, lastSample }) => ({
    ...{ from: firstSample, to: lastSample + 1 },
  }))
  const areRaw = rawClicks.length > bursts.length && (areHigh || !areClicks)
  const told = areRaw ? rawClicks : ranges
  const count = told.length
  const toSample = Math.max(signs.toSample, told.at(-1)!.to)
  const seconds = (toSample - signs.fromSample) / workingRateHz
  const isCrash = samples > crashSamples * count
  const perSecond = count / Math.max(0.1, seconds)
  return { cause: { kind: 'clicks', count, perSecond, isCrash }, ranges: told }
}

/** Found by trial: in an FM receiver's clicks 11 dB were left. */
const clearEbN0Db = 13
/** Of the stretch: a window of takeOutLines.ts holds less of most frames. */
const toneEndShare = 0.3

/** The signal is weaker where the bursts are: noise that shows in its fades. */
function fadesAtBursts({ bursts, pieces, firstPiece, endPiece, signalPower }: Signs): boolean {
  if (bursts.some((one) => one.lastSample - one.firstSample > 60)) return false
  const inside = pieces.slice(firstPiece, endPiece)
  const hit = inside.filter((piece) =>
    bursts.some((one) => Math.abs(one.firstSample - middleOf(piece)) < pieceSamples / 2),
  )
  const weak = hit.filter((piece) => piece.signalPower < 0.65 * signalPower)
  return weak.length > 0.25 * hit.length
}

/** Noise and broken flags make runs of so many by chance. */
const flagsByChance = 3

/** The fit makes that of noise, now and then. */
const hardlyDb = 5

/** The stretch may begin so far off: flags are looked for over as much. */
const preamblePieces = 26

/** In nine of ten frames 0.43 repeats itself so at most (500 of test/channel/usualFrame.ts). */
const rhythmFlags = 8
const rhythmShareMin = 0.53
/** A preamble is looked for behind the start of the stretch, too: 0.4 s. */
const preambleBehind = 4800

/** The signal began within the frame: nothing stood before it, and no flags. */
function startsWithin(
  signs: Signs,
  { first, goodDb, goodPower, fades }: Timeline,
  { leastDb, fallDb, isHit }: StartSearch,
): boolean {
  const { firstPiece, flagsBefore, pieces, toneBalanceDb, gaps } = signs
  // With a weak tone no flag may be whole.
  if (goodDb < leastDb || Math.abs(toneBalanceDb) > 18) return false
  // It opens at once: what comes up slowly, or goes again, faded.
  const opened = pieces.findIndex(({ ebN0Db }, at) => at >= first && ebN0Db > goodDb - fallDb)
  const before = pieces[opened - 2]
  const isSudden =
    before === undefined || before.ebN0Db < hardlyDb || before.signalPower < goodPower / 100
  const start = pieces[Math.max(first, opened)]!.startSample
  const isHole = isHit || gaps.some(({ firstSample }) => firstSample > start)
  if ((fades && !isHole && Math.abs(toneBalanceDb) < lopsidedDb) || !isSudden) return false
  const rhythm = rhythmWindows(signs.rhythm, rhythmFlags)
  const share = rhythm.share
    .subarray(
      rhythm.windowAt(start - pieceSamples),
      rhythm.windowAt(pieces[firstPiece]!.startSample + preambleBehind),
    )
    .reduce((most, one) => Math.max(most, one), 0)
  return (
    first > 1 &&
    Math.abs(first - firstPiece) <= preamblePieces &&
    flagsBefore <= flagsByChance &&
    share < rhythmShareMin
  )
}

interface StartSearch {
  /** of the better pieces, at least */
  readonly leastDb: number
  /** its first piece may be so much worse than the better ones */
  readonly fallDb: number
  /** bursts explain where it is weaker */
  readonly isHit: boolean
}

/** Of a weaker signal too little can be told; of what was much changed, sooner. */
const startDbMin = 3
const startDbMinChanged = 7

/** The first piece of it may be noise in part. */
function beginningOf({ pieces, endPiece }: Signs, { first, goodDb }: Timeline): number {
  const whole = pieces.slice(first, endPiece).find(({ ebN0Db }) => ebN0Db > goodDb - 6)
  return (whole ?? pieces[first]!).startSample
}
