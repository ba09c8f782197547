// Causes that have their place in time: marks on the trace of a damaged frame, and what shows why on an axis of its own.
import { readEbN0Db } from '../../../../dsp/causes/causes.js'
import { causeKindNames } from '../../../../dsp/causes/causeWords.js'
import type { PieceView } from '../../../../dsp/causes/lossView.js'
import type { LostFrame } from '../../../../dsp/causes/lossWatch.js'
import { lane, type Stroke, strokesWithin } from './lane.js'

/** Its picture begins so long before its first sample, and lasts so long. */
interface DamageTime {
  readonly lost: LostFrame
  readonly marginS: number
  readonly seconds: number
}

const width = 300
/** Of more, lines through the trace would hide it. */
const linesMax = 6

const xOf = ({ marginS, seconds }: DamageTime, atS: number): number =>
  ((marginS + atS) * width) / Math.max(0.01, seconds)

const strokesOf = (time: DamageTime, at: number): Stroke[] =>
  (time.lost.view.places[at]?.spans ?? []).map(({ fromS, toS }) => ({
    from: xOf(time, fromS),
    to: xOf(time, toS),
  }))

/** Under the trace: a bar where the cause shows, and its name. */
export const placesBelow = (time: DamageTime): string =>
  causeKindNames(time.lost.causes)
    .map((name, at) => lane(strokesOf(time, at), width, name))
    .join('')

/** Lines through the trace at both ends of each bar. */
export const placesWithin = (time: DamageTime, height: number): string =>
  time.lost.view.places
    .map((_, at) => {
      const bars = strokesWithin(strokesOf(time, at), width)
      if (bars.length > linesMax) return ''
      const edges = bars.flatMap(({ from, to }) => [from, to]).filter((x) => x > 0 && x < width)
      if (edges.length === 0) return ''
      return `<path class="cause" d="${edges.map((x) => `M${x.toFixed(1)} ${height}V0`).join('')}"/>`
    })
    .join('')

/** Between these two lines of the picture the samples have room; nothing where they were not clipped. */
export function limitLines({ causes }: LostFrame, middle: number, scale: number): string {
  if (!causes.some(({ kind }) => kind === 'clipping')) return ''
  // What the resampler makes of corners goes a little over it.
  const y = (sample: number): string => (middle - sample * scale).toFixed(1)
  return `<path class="limit" d="M0 ${y(1)}H${width}M0 ${y(-1)}H${width}"/>`
}

const ebN0DbMax = 20

/** How well a signal fits, 20 ms by 20 ms, between two heights; and the Eb/N0 from which on frames are read. */
export function fitBand(time: DamageTime, top: number, foot: number): string {
  const yOf = (db: number): string =>
    (foot - (Math.max(0, Math.min(ebN0DbMax, db)) / ebN0DbMax) * (foot - top)).toFixed(1)
  const steps = inPicture(time).map(
    ({ from, to, piece }) =>
      `${from.toFixed(1)} ${yOf(piece.ebN0Db)}L${to.toFixed(1)} ${yOf(piece.ebN0Db)}`,
  )
  if (steps.length === 0) return ''
  return `<path class="grid" d="M0 ${top - 2}H${width}"/><path class="grid" stroke-dasharray="3 2" d="M0 ${yOf(readEbN0Db)}H${width}"/><path d="M${steps.join('L')}"/>`
}

function inPicture(time: DamageTime): (Stroke & { readonly piece: PieceView })[] {
  return time.lost.view.pieces
    .map((piece) => ({ from: xOf(time, piece.fromS), to: xOf(time, piece.toS), piece }))
    .filter(({ from, to }) => from >= 0 && to <= width)
}

const delayMsMax = 3.2

/** Which delays an echo would explain; nothing where there is none. */
export function echoPicture({ causes, view }: LostFrame): string {
  const at = causes.findIndex(({ kind }) => kind === 'echo')
  const echo = causes[at]
  if (echo?.kind !== 'echo' || view.echoes.length === 0) return ''
  const most = Math.max(...view.echoes.map(({ share }) => share))
  const x = (delayMs: number): number => (delayMs * 160) / delayMsMax
  const points = view.echoes.map(
    ({ delayMs, share }) =>
      `${x(delayMs).toFixed(1)} ${(116 - (106 * share) / Math.max(1e-9, most)).toFixed(1)}`,
  )
  const there = x(echo.delayMs)
  return `<div><svg viewBox="0 0 160 120" preserveAspectRatio="none" role="img" aria-label="Echo by its delay"><path class="cause" d="M${there.toFixed(1)} 120V0"/><path d="M${points.join('L')}"/></svg>
${lane([{ from: there - 1, to: there + 1 }], 160, causeKindNames(causes)[at]!)}<p class="small">what no signal explains, against the signal itself so much earlier: 0 to ${delayMsMax} ms</p></div>
`
}

/** Where symbols begin, before and behind samples that were lost; nothing where none were. */
export function timingPicture(time: DamageTime): string {
  const { causes } = time.lost
  const at = causes.findIndex(({ kind }) => kind === 'slip')
  if (at < 0) return ''
  const dots = inPicture(time)
    .filter(({ piece }) => piece.lateSymbols !== undefined)
    .map(({ from, to, piece }) => {
      const y = 60 + 112 * piece.lateSymbols!
      return `M${from.toFixed(1)} ${y.toFixed(1)}H${to.toFixed(1)}`
    })
  const bars = strokesWithin(strokesOf(time, at), width)
  const edges = bars.flatMap(({ from, to }) => [from, to])
  return `<div><svg viewBox="0 0 ${width} 120" preserveAspectRatio="none" role="img" aria-label="Where symbols begin, over time"><path class="grid" d="M0 60H${width}"/><path class="cause" d="${edges.map((x) => `M${x.toFixed(1)} 120V0`).join('')}"/><path class="bar" d="${dots.join('')}"/></svg>
${lane(bars, width, causeKindNames(causes)[at]!)}<p class="small">where symbols begin over the same time, half a symbol early (above) to half a symbol late</p></div>
`
}
