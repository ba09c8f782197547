// Measures the signs of a lost frame (signs.ts) on its audio.
import { measureSpectrum } from '../measure/spectrum.js'
import { createFrontEnd, workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { createHighPass } from '../modem/frontEnd/highPass.js'
import { createImpulseLimiter } from '../modem/frontEnd/impulseLimiter.js'
import { markHz, spaceHz, symbolRateHz } from '../modem/modulator.js'
import { median } from '../numbers/median.js'
import { fromDb, meanPower, powerDb } from '../numbers/power.js'
import { createResampler } from '../resample/resampler.js'
import {
  bridged,
  clippedIn,
  clippedShareOf,
  type Gap,
  gapsIn,
  type Line,
  lowTonesIn,
  rawClicksIn,
  type SampleRange,
  tonePower,
} from './audioSigns.js'
import { burstsIn, deviationBetween } from './burstSigns.js'
import { findComb } from './combSign.js'
import { findEcho } from './echoSign.js'
import { flagRhythm } from './flagRhythm.js'
import { type LineJump, lineJumpIn } from './lineJump.js'
import { fitPieces, middleOf, type Piece, shiftHz, tonesAt } from './pieceFits.js'
import { secondFlags } from './secondFlags.js'
import { sureSecondSignal } from './secondSignal.js'
import { senderChange } from './senderChange.js'
import {
  buzzShareMin,
  type LostStretch,
  type MeasuredSigns,
  rawClicksMin,
  rawCrashSamples,
  type Signs,
} from './signs.js'
import { slipRange } from './slip.js'
import { flagEndsIn, type SymbolView, viewSymbols } from './symbolView.js'
import { takeOutLines } from './takeOutLines.js'
import { goesOnPieces, type Timeline, timelineOf } from './timeline.js'

/** The stretch at the working rate. */
interface Stretch {
  readonly working: Float32Array
  /** nothing taken out of it */
  readonly unfiltered: Float32Array
  readonly silences: readonly Gap[]
  readonly from: number
  readonly to: number
}

export function measureSigns(lost: LostStretch): Signs {
  const { audio, sampleRateHz, firstSample, lastSample } = lost
  const toWorking = workingRateHz / sampleRateHz
  const own = audio.subarray(firstSample, lastSample)
  const inWorking = ({ from, to }: SampleRange): SampleRange => ({
    from: from * toWorking,
    to: to * toWorking,
  })
  const gaps = gapsIn(audio, sampleRateHz)
  const stretch = stretchOf(lost, gaps)
  const first = measureStretch(stretch)
  // Without hum and tones they stick out.
  const level = takeOutLines(audio, first.lines, sampleRateHz, gaps)
  const clicks = rawClicksIn(level, level.subarray(firstSample, lastSample))
  const rawClicks = clicks.filter(({ from, to }) => to > firstSample && from < lastSample)
  const asHeard = {
    levelDbfs: powerDb(meanPower(own)),
    clippedShare: clippedShareOf(own),
    rawClicks: rawClicks.map(inWorking),
    clipped: clippedIn(own)
      .map(({ from, to }) => ({ from: firstSample + from, to: firstSample + to }))
      .map(inWorking),
    gaps: gaps.map((gap) => ({
      firstSample: gap.firstSample * toWorking,
      lastSample: gap.lastSample * toWorking,
    })),
  }
  const areMany =
    rawClicks.length >= rawClicksMin ||
    rawClicks.some(({ from, to }) => (to - from) * toWorking >= rawCrashSamples)
  const freed = areMany
    ? stretchOf({ ...lost, audio: bridged(audio, clicks, sampleRateHz) }, gaps)
    : stretch
  const told = areMany ? { ...measureStretch(freed), bursts: first.bursts } : first
  const place = told.ebN0Db < noSignalDb ? (signalBeside(told) ?? loudPart(told)) : undefined
  const measured = {
    ...asHeard,
    ...(place === undefined ? told : measureStretch({ ...freed, ...place })),
  }
  const timeline = timelineOf(measured)
  return {
    ...measured,
    ...beforeSecond(measured, timeline, freed),
    lineJump: lineJumpOf(measured, timeline, freed.unfiltered),
  }
}

/** Less than 150 ms of one signal alone tell nothing. */
const aloneSamples = 1800

/** A second signal, and what stands before it. */
function beforeSecond(
  measured: MeasuredSigns,
  timeline: Timeline,
  stretch: Stretch,
): Pick<Signs, 'second' | 'before'> {
  const second =
    secondFlags(measured, timeline) ??
    sureSecondSignal(measured, timeline) ??
    senderChange(measured, timeline)
  if (second === undefined) return { second, before: undefined }
  const start = measured.pieces[timeline.first]!.startSample
  const isWithin = measured.fromSample < second.from - aloneSamples
  const from = Math.round(isWithin ? measured.fromSample : start)
  const to = Math.round(second.from)
  if (to - from < aloneSamples) return { second, before: undefined }
  return { second, before: measureStretch({ ...stretch, from, to }) }
}

/** How far what was found may lie beside the tone, Hz: mains stray by less than the one. */
const strayHz = { mains: 0.3, subAudible: 1.5 } as const

function lineJumpOf(
  measured: MeasuredSigns,
  timeline: Timeline,
  unfiltered: Float32Array,
): LineJump | undefined {
  const { mains, subAudible } = measured.low
  const line = mains ?? subAudible
  if (line === undefined) return undefined
  const stray = mains === undefined ? strayHz.subAudible : strayHz.mains
  return lineJumpIn(unfiltered, { hz: line.hz, strayHz: stray, ...slipRange(measured, timeline) })
}

function stretchOf(
  { audio, sampleRateHz, firstSample, lastSample }: LostStretch,
  gaps: readonly Gap[],
): Stretch {
  const toWorking = workingRateHz / sampleRateHz
  const frontEnd = createFrontEnd(sampleRateHz)
  return {
    working: all(frontEnd.process(audio).slice(), frontEnd.flush()),
    unfiltered: resampled(audio, sampleRateHz),
    silences: gaps.map((gap) => ({
      firstSample: gap.firstSample * toWorking,
      lastSample: gap.lastSample * toWorking,
    })),
    from: Math.round(firstSample * toWorking),
    to: Math.round(lastSample * toWorking),
  }
}

/** The fit makes less of noise, now and then. */
const noSignalDb = -4
/** A signal that began or ended so few pieces off the stretch is what was lost; shorter ones hold no frame. */
const besidePieces = 3
const signalPiecesMin = 8
const signalDb = 6

/** Louder than the rest by so much, and for no more than this share of the stretch. */
const loudOver = 100
const loudShareMax = 0.7

/** Of a stretch that is nearly all silence, as where hum was taken out, the rest. */
function loudPart({
  pieces,
  firstPiece,
  endPiece,
}: Pick<Signs, 'pieces' | 'firstPiece' | 'endPiece'>): { from: number; to: number } | undefined {
  const inside = pieces.slice(firstPiece, endPiece)
  const most = inside.reduce((all, { signalPower }) => Math.max(all, signalPower), 0)
  const loud = inside.filter(({ signalPower }) => signalPower >= most / loudOver)
  if (loud.length < signalPiecesMin || loud.length > loudShareMax * inside.length) return undefined
  return {
    from: Math.round(loud[0]!.startSample),
    to: Math.round(middleOf(loud.at(-1)!)) + 1,
  }
}

/** Hum, for example, may look like the end of a frame, when the frame has ended. */
function signalBeside(
  told: Pick<Signs, 'pieces' | 'firstPiece' | 'endPiece'>,
): { from: number; to: number } | undefined {
  const { pieces, firstPiece, endPiece } = told
  const isSignal = (at: number): boolean => (pieces[at]?.ebN0Db ?? noSignalDb) > signalDb
  for (let from = 0; from < pieces.length; from++) {
    let to = from
    while (isSignal(to) || (to > from && isSignal(to + 1))) to++
    const isBeside = to > firstPiece - besidePieces && from < endPiece + besidePieces
    if (to - from >= signalPiecesMin && isBeside)
      return {
        from: Math.round(pieces[from]!.startSample),
        to: Math.round(middleOf(pieces[to - 1]!)) + 1,
      }
    from = to
  }
  return undefined
}

function measureStretch(stretch: Stretch) {
  const signal = measureSignal(stretch)
  const low = lowTonesIn(stretch.unfiltered.subarray(stretch.from, stretch.to))
  const left = signal.residual.subarray(stretch.from, stretch.to)
  const lines = { low, buzz: [50, 60].map((hz) => ({ hz, share: buzzShare(left, hz) })) }
  const known = knownLines(lines, signal.signalPower)
  if (known.length === 0) return { ...signal, ...lines, lines: known }
  // Without them the rest can be seen.
  const unfiltered = takeOutLines(stretch.unfiltered, known, workingRateHz, stretch.silences)
  const working = highPass(limited(unfiltered))
  return { ...measureSignal({ ...stretch, unfiltered, working }), ...lines, lines: known }
}

/** Frequencies of tones that are strong enough to spoil a signal, and of their harmonics. */
function knownLines({ low, buzz }: Pick<Signs, 'low' | 'buzz'>, signalPower: number): number[] {
  const { subAudible, mains } = low
  const isStrong = (line: Line | undefined): line is Line =>
    line !== undefined && line.power > lineShareMin * signalPower
  const harmonics = (hz: number): number[] => [
    hz,
    ...Array.from({ length: Math.floor(3300 / (2 * hz)) }, (_, n) => 2 * hz * (n + 1)),
  ]
  return [
    ...(isStrong(subAudible) ? [subAudible.hz] : []),
    ...buzz.flatMap(({ hz, share }) =>
      share > buzzShareMin || (isStrong(mains) && mains.hz === hz) ? harmonics(hz) : [],
    ),
  ]
}

/** Of the signal's power, -6 dB. */
const lineShareMin = 0.25

function measureSignal({ working, unfiltered, from, to }: Stretch) {
  const view = bestView(working, from, to)
  const { pieces, fitted, residual } = fitPieces(working, view)
  const behind = (at: number): boolean => at < pieces.length && middleOf(pieces[at]!) < to
  const firstPiece = Math.max(
    0,
    pieces.findIndex((piece) => middleOf(piece) >= from),
  )
  let endPiece = firstPiece
  while (behind(endPiece)) endPiece++
  const inside = pieces.slice(firstPiece, endPiece)
  const medianOf = (of: (piece: Piece) => number): number => median(inside.map(of))
  const signalPower = medianOf((piece) => piece.signalPower) || 1e-15
  const mark = medianOf(({ markPower }) => markPower)
  const space = medianOf(({ spacePower }) => spacePower)
  const left = highPass(unfiltered).map((sample, at) => sample - (fitted[at] ?? 0))
  const tones = inside.map(({ firstSymbol }) => tonesAt(view, firstSymbol))
  const toneOffsetHz = median(
    tones.map((tone) => (tone.markHz - markHz + tone.spaceHz - spaceHz) / 2),
  )
  const deviation = deviationBetween(left, from, to)
  // A false flag may have cut the stretch before them.
  const { end } = timelineOf({ pieces, firstPiece, endPiece })
  const goesOn = end - endPiece >= goesOnPieces
  const burstsTo = goesOn ? Math.round(middleOf(pieces[end - closingPieces]!)) : to
  return {
    toneBalanceDb: powerDb(Math.max(space, 1e-4 * mark)) - powerDb(Math.max(mark, 1e-4 * space)),
    toneOffsetHz,
    symbolRateErrorPpm: rateErrorPpm(inside),
    ebN0Db: medianOf(({ ebN0Db }) => ebN0Db),
    floorEbN0Db: powerDb(signalPower / symbolRateHz / floorDensity(residual.subarray(from, to))),
    betweenEbN0Db: powerDb(signalPower / symbolRateHz / Math.max(1e-15, deviation ** 2 / bandHz)),
    signalPower,
    echo: findEcho(view, fitted, residual, from, to),
    comb: findComb(working.subarray(from, to), fitted.subarray(from, to), toneOffsetHz),
    bursts: burstsIn(left, from, burstsTo, deviation, Math.sqrt(2 * Math.max(mark, space))),
    ...{ fromSample: from, toSample: to, pieces, firstPiece, endPiece, residual },
    ...flagsAround(view, from, to),
    ...{ rhythm: flagRhythm(working, shiftHz * view.shiftSteps), line: view.line },
  }
}

/** The end of a signal fits badly. */
const closingPieces = 3

/** What the high-pass and the resampler leave: 400 to 3300 Hz or so. */
const bandHz = 2900

const all = (...parts: readonly Float32Array[]): Float32Array =>
  Float32Array.from(parts.flatMap((part) => [...part]))

function resampled(audio: Float32Array, sampleRateHz: number): Float32Array {
  const resampler = createResampler({
    fromHz: sampleRateHz,
    toHz: workingRateHz,
    passbandHz: Math.min(3300, 0.41 * sampleRateHz),
  })
  return all(resampler.process(audio).slice(), resampler.flush())
}

function limited(working: Float32Array): Float32Array {
  const limiter = createImpulseLimiter(workingRateHz)
  // What comes first is held back: the last samples of flush() belong to silence.
  return all(limiter.process(working).slice(), limiter.flush()).subarray(0, working.length)
}

function highPass(samples: Float32Array): Float32Array {
  const filter = createHighPass()
  return all(filter.process(samples).slice(), filter.flush())
}

/** Tones beyond these are not looked for: three steps of 200 Hz. */
const shiftStepsMax = 3
/** A signal in tune has more, but for noise; then another shift must be better by so much. */
const coherenceInTune = 0.8
const coherenceLead = 0.1
const balanceDbMax = 12

/** The symbols with tones where they lie; in tune unless another place is clearly better. */
function bestView(working: Float32Array, from: number, to: number): SymbolView {
  let best = viewSymbols(working, 0)
  const inTune = coherenceOf(best, from, to)
  if (inTune > coherenceInTune) return best
  let most = inTune + coherenceLead
  for (let steps = -shiftStepsMax; steps <= shiftStepsMax; steps++) {
    if (steps === 0) continue
    const view = viewSymbols(working, steps)
    const coherence = coherenceOf(view, from, to)
    // One tone alone, too low or too high, would fit elsewhere as well.
    if (coherence <= most || Math.abs(balanceOf(view, from, to)) > balanceDbMax) continue
    best = view
    most = coherence
  }
  return best
}

/** Those that hold more than silence: of the loudest one, -30 dB. */
function blocksOf(view: SymbolView, from: number, to: number) {
  const inside = view.blocks.filter((_, block) => {
    const middle = view.startSample[32 * block + 16] ?? Number.POSITIVE_INFINITY
    return middle >= from && middle < to
  })
  const amplitude = ({ markAmplitude, spaceAmplitude }: (typeof inside)[number]): number =>
    Math.max(markAmplitude, spaceAmplitude)
  const most = inside.reduce((all, block) => Math.max(all, amplitude(block)), 0)
  return inside.filter((block) => amplitude(block) > most * 10 ** (-30 / 20))
}

const coherenceOf = (view: SymbolView, from: number, to: number): number =>
  median(blocksOf(view, from, to).map(({ coherence }) => coherence))

const balanceOf = (view: SymbolView, from: number, to: number): number =>
  median(
    blocksOf(view, from, to).map(
      ({ markAmplitude, spaceAmplitude }) =>
        20 * Math.log10((spaceAmplitude + 1e-9) / (markAmplitude + 1e-9)),
    ),
  )

function rateErrorPpm(pieces: readonly Piece[]): number {
  const length = median(pieces.map(({ samplesPerSymbol }) => samplesPerSymbol))
  return length > 0 ? (10 / length - 1) * 1e6 : 0
}

const floorSize = 1024
/** Noise between 600 and 3000 Hz, but what no line, tone or second signal stands in: the lower quarter. */
const floorFromHz = 600
const floorToHz = 3000
/** With ten windows or so, the lower quarter of noise lies that far below its mean. */
const quartileOverMean = 0.77

/** @returns one-sided density, per Hz */
function floorDensity(stretch: Float32Array): number {
  const { binHz, densityDbfsPerHz } = measureSpectrum(stretch, {
    ...{ sampleRateHz: workingRateHz, size: floorSize },
  })
  const band = densityDbfsPerHz
    .slice(Math.ceil(floorFromHz / binHz), Math.floor(floorToHz / binHz))
    .toSorted()
  return Math.max(1e-15, fromDb(band[band.length >> 2]!) / quartileOverMean)
}

/** Beyond what noise has in as many bins by chance. */
function buzzShare(stretch: Float32Array, mainsHz: number): number {
  const all = meanPower(stretch) + 1e-15
  let sum = 0
  let lines = 0
  for (let hz = 600; hz <= 3000; hz += 2 * mainsHz) {
    sum += tonePower(stretch, hz, workingRateHz)
    lines++
  }
  return Math.max(0, sum / all - (lines * 3) / Math.max(1, stretch.length))
}

/** Flags may lie that many symbols off the edges of the stretch: detectors differ. */
const edgeSymbols = 12
/** A preamble is looked for so many symbols around the start of a stretch: 0.5 s before and 0.4 s behind. */
const preambleBefore = 600
const preambleBehind = 480

function flagsAround(
  view: SymbolView,
  from: number,
  to: number,
): { flagsBefore: number; flagsBehind: number } {
  const ends = flagEndsIn(view)
  const symbolAt = (sample: number): number => {
    let symbol = 0
    while (symbol < view.count && view.startSample[symbol]! < sample) symbol++
    return symbol
  }
  const runUp = (start: number): number => {
    let flags = 0
    for (let at = start; ends.has(at); at += 8) flags++
    return flags
  }
  const [start, end] = [symbolAt(from), symbolAt(to)]
  let flagsBefore = 0
  // Those that close the frame are none of its preamble.
  const preambleEnd = Math.min(start + preambleBehind, end - 2 * edgeSymbols)
  for (let at = start - preambleBefore; at < preambleEnd; at++)
    if (ends.has(at) && !ends.has(at - 8)) flagsBefore = Math.max(flagsBefore, runUp(at))
  let flagsBehind = 0
  for (let at = end - edgeSymbols; at <= end + edgeSymbols; at++)
    if (ends.has(at) && !ends.has(at - 8)) flagsBehind = Math.max(flagsBehind, runUp(at))
  return { flagsBefore, flagsBehind }
}
