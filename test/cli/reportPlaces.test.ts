import { describe, expect, it } from 'vitest'
import { createLossWatch, type LostFrame } from '../../dsp/causes/lossWatch.js'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { createReportTrack } from '../../src/cli/decode/report/reportTrack.js'
import { seededRandom } from '../../src/runtime/random.js'
import { randomFrame } from '../bench/randomFrame.js'
import { addNoise } from '../channel/addNoise.js'
import { echo, hum, shift, steadyTone } from '../channel/troubles.js'

/*
 * The picture of a damaged frame lets a reader see why: at a place that is known, each cause is put into the same clean frame, and
 * the page must mark it there, with its word, and nowhere without it.
 */

const sampleRateHz = 24_000
const quietS = 0.5
const preambleS = 0.25
const startS = quietS + preambleS

const sentBy = (options: { toneBalanceDb?: number } = {}, seed = 1): Float32Array =>
  modulateTransmission({
    frames: [randomFrame(110, seededRandom(seed))],
    ...{ preambleMs: 1000 * preambleS, tailMs: 20, peakLevel: 0.2, sampleRateHz, ...options },
  })

const quiet = new Float32Array(quietS * sampleRateHz)

function joined(...parts: readonly Float32Array[]): Float32Array {
  return Float32Array.from(parts.flatMap((part) => [...part]))
}

const plain = joined(quiet, sentBy(), quiet)
const endS = plain.length / sampleRateHz - quietS - 0.02
const transmission = {
  ...{ sampleRateHz, random: seededRandom(7), signalPower: meanPower(sentBy()) },
  startSample: quietS * sampleRateHz,
  contentSample: startS * sampleRateHz,
  endSample: endS * sampleRateHz,
}
const at = (s: number): number => Math.round(s * sampleRateHz)
const between = (n: number, fromS: number, toS: number): boolean => n >= at(fromS) && n < at(toS)
/** An Eb/N0 of some 24 dB. */
const withHiss = (audio: Float32Array, rms = 0.03): Float32Array =>
  addNoise(audio, rms, seededRandom(3))

/** The entry of a frame that is said to lie where this one does. */
function entryOf(audio: Float32Array): { readonly entry: string; readonly lost: LostFrame } {
  const watch = createLossWatch({ sampleRateHz, findsAll: false })
  watch.push(audio)
  const span = { firstSample: at(startS), lastSample: at(endS) }
  const [lost] = [...watch.take([], [span]), ...watch.finish()] as [LostFrame]
  const track = createReportTrack(sampleRateHz, () => undefined)
  track.push(audio)
  track.take([], [lost])
  return { entry: track.finish().lastPage.body(), lost }
}

interface Mark {
  readonly word: string
  /** shares of the picture's width */
  readonly bars: readonly (readonly [number, number])[]
}

const marksOf = (entry: string): Mark[] =>
  [
    ...entry.matchAll(
      /class="lane"><svg viewBox="0 0 (\d+) 8"[^>]*><path class="bar" d="([^"]*)"\/><\/svg><span[^>]*>([^<]*)</g,
    ),
  ].map(([, width, bars, word]) => ({
    word: word!,
    bars: [...bars!.matchAll(/M([\d.]+) 4H([\d.]+)/g)].map(([, from, to]) => [
      Number(from) / Number(width),
      Number(to) / Number(width),
    ]),
  }))

/** Seconds of the recording: the picture of what is damaged shows a tenth of a second about it. */
const marginS = 0.1
const secondsOf = ({ bars }: Mark): [number, number][] =>
  bars.map(([from, to]) => {
    const whole = endS - startS + 2 * marginS
    return [startS - marginS + from * whole, startS - marginS + to * whole]
  })

function markOf(audio: Float32Array, word: string): Mark {
  const marks = marksOf(entryOf(audio).entry)
  const found = marks.find((mark) => mark.word === word)
  if (found === undefined) throw new Error(`${word}: not among ${JSON.stringify(marks)}`)
  return found
}

/** Pieces of the fit last 20 ms. */
const pieceS = 0.02

function expectSpan([from, to]: readonly [number, number], fromS: number, toS: number): void {
  expect(Math.abs(from - fromS)).toBeLessThan(1.5 * pieceS)
  expect(Math.abs(to - toS)).toBeLessThan(1.5 * pieceS)
}

const faded = (): Float32Array =>
  withHiss(
    plain.map((sample, n) => (between(n, 1.1, 1.25) ? 0.05 * sample : sample)),
    0.03,
  )

function collided(atS: number): Float32Array {
  const second = sentBy({}, 2)
  return withHiss(plain.map((sample, n) => sample + (second[n - at(atS)] ?? 0)))
}

describe('the picture of a damaged frame', () => {
  it('marks nothing on a frame with which nothing was wrong', () => {
    const { entry, lost } = entryOf(withHiss(plain))
    expect(lost.causes).toEqual([])
    expect(marksOf(entry)).toEqual([])
    expect(entry).not.toMatch(/class="(cause|bar|limit)"/)
  })

  it('marks the fade in which it was weak', () => {
    const [bar, ...others] = secondsOf(markOf(faded(), 'weak'))
    expectSpan(bar!, 1.1, 1.25)
    expect(others).toEqual([])
  })

  it('marks all of a frame that was weak throughout, and draws its Eb/N0 below the limit', () => {
    const { entry, lost } = entryOf(withHiss(plain, 0.18))
    expect(lost.causes.map(({ kind }) => kind)).toEqual(['noise'])
    const bars = secondsOf(marksOf(entry)[0]!)
    const markedS = bars.reduce((sum, [from, to]) => sum + to - from, 0)
    expect(markedS).toBeGreaterThan(0.8 * (endS - startS))
  })

  it('marks where samples were clipped, between lines at the limits', () => {
    const clipped = withHiss(plain).map((sample, n) =>
      Math.max(-1, Math.min(1, between(n, 1.15, 1.4) ? 15 * sample : 2 * sample)),
    )
    const bars = secondsOf(markOf(clipped, 'samples clipped'))
    expectSpan([bars[0]![0], bars.at(-1)![1]], 1.15, 1.4)
    expect(entryOf(clipped).entry).toMatch(/class="limit"/)
  })

  it('marks where samples were lost, and shows that symbols begin elsewhere from there on', () => {
    const slipped = joined(plain.subarray(0, at(1.2)), plain.subarray(at(1.2027)))
    const { entry, lost } = entryOf(withHiss(slipped))
    expect(lost.causes.map(({ kind }) => kind)).toEqual(['slip'])
    const marks = marksOf(entry).filter(({ word }) => word === 'samples lost')
    // On the trace and on the picture of the timing.
    expect(marks).toHaveLength(2)
    for (const mark of marks) expectSpan(secondsOf(mark)[0]!, 1.19, 1.21)
    const lateAt = (fromS: number, toS: number): number[] =>
      lost.view.pieces
        .filter((piece) => piece.fromS + startS > fromS && piece.toS + startS < toS)
        .map(({ lateSymbols }) => lateSymbols ?? 0)
    // 2.7 ms are 3.24 symbols: a quarter of one too early.
    for (const late of lateAt(0.8, 1.17)) expect(late).toBeCloseTo(0, 1)
    for (const late of lateAt(1.24, 1.4)) expect(Math.abs(late)).toBeCloseTo(0.24, 1)
  })

  it('marks silence in place of samples', () => {
    const holed = plain.map((sample, n) => (between(n, 1.1, 1.104) ? 0 : sample))
    const silent = withHiss(holed).map((sample, n) => (between(n, 1.1, 1.104) ? 0 : sample))
    expectSpan(secondsOf(markOf(silent, 'samples lost'))[0]!, 1.1, 1.104)
  })

  it('marks the time of a second signal, with an Eb/N0 that falls there', () => {
    const { entry, lost } = entryOf(collided(1.2))
    const [from] = secondsOf(marksOf(entry).find(({ word }) => word === 'a second signal')!)[0]!
    expect(Math.abs(from - 1.2)).toBeLessThan(1.5 * pieceS)
    const ebN0DbOf = (fromS: number, toS: number): number[] =>
      lost.view.pieces
        .filter((piece) => piece.fromS + startS > fromS && piece.toS + startS < toS)
        .map(({ ebN0Db }) => ebN0Db)
    expect(Math.min(...ebN0DbOf(0.85, 1.17))).toBeGreaterThan(15)
    expect(Math.max(...ebN0DbOf(1.24, 1.4))).toBeLessThan(12)
  })

  it('marks each burst of noise, and clicks', () => {
    const loud = addNoise(new Float32Array(plain.length), 1, seededRandom(9))
    const crashed = withHiss(plain).map((sample, n) =>
      between(n, 1.0, 1.012) || between(n, 1.3, 1.312) ? sample + loud[n]! : sample,
    )
    const crashes = secondsOf(markOf(crashed, 'loud noise'))
    expect(crashes).toHaveLength(2)
    expectSpan(crashes[0]!, 1.0, 1.012)
    expectSpan(crashes[1]!, 1.3, 1.312)
    const clickTimesS = Array.from({ length: 12 }, (_, click) => 0.9 + 0.04 * click)
    const clicked = withHiss(plain).map((sample, n) =>
      clickTimesS.some((s) => between(n, s, s + 0.0003)) ? 0.9 : sample,
    )
    const clicks = secondsOf(markOf(clicked, 'clicks'))
    expect(clicks).toHaveLength(12)
    for (const [click, [from]] of clicks.entries())
      expect(Math.abs(from - clickTimesS[click]!)).toBeLessThan(0.004)
  })

  it('tells lost samples from a second signal where the signal is far above the noise, too', () => {
    const slipped = joined(plain.subarray(0, at(1.2)), plain.subarray(at(1.2027)))
    for (const rms of [0.004, 0.012]) {
      expect(entryOf(withHiss(plain, rms)).lost.causes).toEqual([])
      const { lost } = entryOf(withHiss(slipped, rms))
      expect(lost.causes.map(({ kind }) => kind)).toEqual(['slip'])
    }
  })

  it('marks what is missing before a signal that begins within its frame', () => {
    const late = withHiss(plain.map((sample, n) => (n < at(startS + 0.04) ? 0 : sample)))
    const [bar] = secondsOf(markOf(late, 'its beginning is missing'))
    expectSpan(bar!, startS - marginS, startS + 0.04)
  })

  it.each([
    [50, 'hum'],
    [60, 'hum'],
  ] as const)('marks the lines of %s Hz mains in the spectrum', (hz, word) => {
    const { bars } = markOf(withHiss(hum(hz, 10, 0)(plain, transmission)), word)
    const lines = bars.map(([from]) => Math.round(4000 * from))
    for (const line of [hz, 2 * hz, 10 * hz, 20 * hz])
      expect(Math.min(...lines.map((one) => Math.abs(one - line)))).toBeLessThan(10)
  })

  it('marks a sub-audible tone in the spectrum', () => {
    const { bars } = markOf(
      withHiss(steadyTone(151.4, 14)(plain, transmission)),
      'sub-audible tone',
    )
    expect(bars).toHaveLength(1)
    expect(Math.abs(4000 * bars[0]![0] - 151.4)).toBeLessThan(10)
  })

  it('marks how far both tones lie off their place', () => {
    const { bars } = markOf(withHiss(shift(-350)(plain, transmission)), 'both tones low')
    const hz = bars.flat().map((share) => 4000 * share)
    for (const [index, expected] of [850, 1200, 1850, 2200].entries())
      expect(Math.abs(hz[index]! - expected)).toBeLessThan(20)
  })

  it.each([-1, 1])('spans from the strong tone to the weak one what that lacks (%s)', (sign) => {
    const audio = joined(quiet, sentBy({ toneBalanceDb: 18 * sign }), quiet)
    const { entry, lost } = entryOf(withHiss(audio))
    const [mark] = marksOf(entry)
    expect(mark?.word).toBe(`2200 Hz tone ${sign < 0 ? 'low' : 'high'}`)
    const [strong, weak] = sign < 0 ? [48, 88] : [88, 48]
    const drawn = /class="cause" d="M([\d.]+) [\d.]+H([\d.]+)v([\d.]+)m/.exec(entry)!.map(Number)
    expect(drawn.slice(1, 3)).toEqual([strong, weak])
    // 116 units of height are 60 dB.
    expect(drawn[3]).toBeCloseTo((Math.abs(lost.toneBalanceDb) * 116) / 60, 0)
    expect(Math.abs(lost.toneBalanceDb)).toBeCloseTo(18, -1)
  })

  it('draws how much of what no signal explains an echo would, by its delay', () => {
    const { entry } = entryOf(withHiss(echo(1.5, 0.7)(plain, transmission)))
    const mark = marksOf(entry).find(({ word }) => word === 'echo')!
    const [from, to] = mark.bars[0]!
    expect(Math.abs((3.2 * (from + to)) / 2 - 1.5)).toBeLessThan(0.1)
    expect(entry).toContain('aria-label="Echo by its delay"')
  })

  it('what lies outside of its picture, or is very much, does no harm', () => {
    const { lost } = entryOf(withHiss(plain))
    const track = createReportTrack(sampleRateHz, () => undefined)
    track.push(plain)
    const clicks = Array.from({ length: 5000 }, (_, n) => ({ fromS: n / 1000, toS: n / 1000 }))
    const causes = [
      { kind: 'clicks', count: 5000, perSecond: 9999, isCrash: false },
      { kind: 'slip', atS: -9 },
    ] as const
    const spans = [{ fromS: -9, toS: -8 }]
    const places = [
      { kind: 'clicks', spans: clicks },
      { kind: 'slip', spans },
    ] as const
    track.take([], [{ ...lost, causes, view: { ...lost.view, places } }])
    const entry = track.finish().lastPage.body()
    expect(marksOf(entry).map(({ word }) => word)).toEqual(['clicks'])
    expect(entry.length).toBeLessThan(60_000)
    expect(entry).not.toMatch(/NaN|Infinity/)
  })
})
