import { useEffect, useRef } from 'preact/hooks'
import type { RadioView } from '../schemas'
import type { Entry } from './entry'
import { db, duration, timeOf } from './format'
import { entries } from './lines'
import { nodeNow, now, spans, state } from './model'
import { rowBins, rowMs, rowsKept, rowsOf, strongest } from './rows'
import { isStill, shownRadio, words } from './settings'
import { useSounds } from './sound'

const pixelsPerSecond = 13
const windowS = 50
const barWidth = 14
const leadWidth = 18
const drawEveryMs = 120

/** The one strip of time: spectrum, what the channel did, and in words what it meant, each at its own moment. */
export function Strip({ radios }: { readonly radios: readonly RadioView[] }) {
  const { stripLabel, before, nothingYet } = words.value
  const numbers = radios.map(({ radio }) => radio)
  const shown = entries.value.filter(
    (entry) => entry.radio === undefined || numbers.includes(entry.radio),
  )
  const still = isStill.value
  // Where none tells a spectrum, the words have its room.
  const isMute = useSounds(radios).every((sound) => sound === 'none')
  const pictures = useRef<HTMLDivElement>(null)
  const list = useRef<HTMLOListElement>(null)
  const latest = useRef(shown)
  latest.current = shown
  // Lines go on to the list below also while nothing new comes.
  void now.value
  const since = nodeNow() - windowS * 1000
  const moving = still ? [] : shown.filter(({ atWallMs }) => atWallMs >= since).slice(0, 40)
  const older = still
    ? shown.slice(0, 60)
    : shown.filter((entry) => !moving.includes(entry)).slice(0, 40)

  useEffect(() => {
    if (still) return
    let frame = 0
    let drawnMs = 0
    const draw = (atMs: number): void => {
      frame = requestAnimationFrame(draw)
      if (atMs - drawnMs < drawEveryMs || document.hidden) return
      drawnMs = atMs
      if (pictures.current && list.current)
        place(pictures.current, list.current, numbers, latest.current)
    }
    frame = requestAnimationFrame(draw)
    return () => cancelAnimationFrame(frame)
  }, [numbers.join(), still])

  return (
    <div class="strip" data-still={still} data-several={radios.length > 1} data-mute={isMute}>
      {!still && (
        <div class="strip-picture">
          <div class="strip-radios" ref={pictures}>
            {radios.map((one) => (
              <Spectrum key={one.radio} radio={one} isNamed={radios.length > 1} isMute={isMute} />
            ))}
          </div>
        </div>
      )}
      <ol class="strip-words" ref={list} aria-label={stripLabel}>
        {moving.map((entry) => (
          <Line key={entry.key} entry={entry} radio={nameOf(entry, radios)} />
        ))}
      </ol>
      {!still && <BarKey />}
      {older.length > 0 && (
        <>
          {!still && <h3 class="strip-before">{before}</h3>}
          <ol class="strip-older" aria-label={still ? stripLabel : before}>
            {older.map((entry) => (
              <Line key={entry.key} entry={entry} radio={nameOf(entry, radios)} />
            ))}
          </ol>
        </>
      )}
      {shown.length === 0 && <p class="quiet">{nothingYet}</p>}
    </div>
  )
}

/** Where several are shown, each line says whose it is. */
const nameOf = ({ radio }: Entry, radios: readonly RadioView[]): string | undefined =>
  radios.length > 1 ? radios.find((one) => one.radio === radio)?.name : undefined

function Spectrum({
  radio: { radio, name, reading },
  isNamed,
  isMute,
}: {
  readonly radio: RadioView
  readonly isNamed: boolean
  readonly isMute: boolean
}) {
  const { spectrumLabel, spectrumEmpty, notTold } = words.value
  const rows = rowsOf(radio)
  // Said anew with each reading, once a second: a reader that looks finds the present.
  const peak = rows && reading && strongest(rows)
  const empty = isMute ? notTold : spectrumEmpty
  const label = peak ? spectrumLabel(peak.hz, db(peak.dbfs)) : empty
  return (
    <div class="strip-radio">
      <canvas role="img" aria-label={isNamed ? `${name}: ${label}` : label} />
      {isNamed ? (
        <p class="strip-name">{name}</p>
      ) : isMute ? null : (
        <p class="strip-key" aria-hidden="true">
          <span>0</span>
          <span>1.2</span>
          <span>2.2</span>
          <span>4 kHz</span>
        </p>
      )}
    </div>
  )
}

function BarKey() {
  const { bar } = words.value
  return (
    <ul class="bar-key" aria-hidden="true">
      <li class="heard">{bar.heard}</li>
      <li class="ours">{bar.ours}</li>
      <li class="waits">{bar.held}</li>
    </ul>
  )
}

/** Puts each line at its moment, or below the newer one where there is no room; draws each radio's spectrum and bar to that. */
function place(
  pictures: HTMLElement,
  list: HTMLOListElement,
  radios: readonly number[],
  shown: readonly Entry[],
): void {
  const nowMs = nodeNow()
  const yOf = (atWallMs: number): number => ((nowMs - atWallMs) * pixelsPerSecond) / 1000
  const items = [...list.children] as HTMLElement[]
  const heights = items.map((item) => item.offsetHeight)
  const byKey = new Map(shown.map((entry) => [entry.key, entry]))
  const leads: [number, number, string][] = []
  let free = 0
  for (const [index, item] of items.entries()) {
    const entry = byKey.get(item.dataset.key ?? '')
    if (entry === undefined) continue
    const y = yOf(entry.atWallMs)
    const top = Math.max(y - 12, free)
    item.style.transform = `translateY(${top.toFixed(1)}px)`
    free = top + heights[index]!
    leads.push([y, top + 12, entry.manner])
  }
  const height = windowS * pixelsPerSecond
  list.style.height = `${Math.max(height, free)}px`
  const canvases = [...pictures.querySelectorAll('canvas')]
  for (const [at, radio] of radios.entries()) {
    const canvas = canvases[at]
    // The words stand beside the last one.
    const isLast = at === radios.length - 1
    if (canvas) paint(canvas, { radio, nowMs, height, leads: isLast ? leads : [], yOf })
  }
}

interface Painting {
  readonly radio: number
  readonly nowMs: number
  readonly height: number
  readonly leads: readonly (readonly [number, number, string])[]
  readonly yOf: (atWallMs: number) => number
}

function paint(canvas: HTMLCanvasElement, painting: Painting): void {
  const { radio, height, leads, yOf, nowMs } = painting
  const width = canvas.clientWidth
  const ratio = Math.min(2, devicePixelRatio)
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio)
    canvas.height = Math.round(height * ratio)
    canvas.style.height = `${height}px`
  }
  const pen = canvas.getContext('2d')
  if (pen === null) return
  const style = getComputedStyle(canvas)
  const colour = (name: string): string => style.getPropertyValue(`--${name}`)
  pen.setTransform(ratio, 0, 0, ratio, 0, 0)
  pen.clearRect(0, 0, width, height)
  const spectrumWidth = Math.max(0, width - barWidth - leadWidth)
  paintRows(pen, painting, spectrumWidth, colour('ink'))
  paintScale(pen, painting, spectrumWidth, colour('ink'))
  const bar = spectrumWidth + 4
  pen.fillStyle = colour('line')
  pen.fillRect(bar + 4, 0, 1, height)
  for (const span of spans.value) {
    if (span.radio !== radio) continue
    const top = Math.max(0, yOf(span.toWallMs ?? nowMs))
    const bottom = Math.min(height, yOf(span.fromWallMs))
    if (bottom <= 0 || top >= height) continue
    const [at, wide, name] = {
      heard: [0, 5, 'heard'],
      ours: [0, 9, 'ours'],
      held: [7, 3, 'waits'],
    }[span.what] as [number, number, string]
    pen.fillStyle = colour(name)
    pen.fillRect(bar + at, top, wide, Math.max(2, bottom - top))
  }
  pen.lineWidth = 1
  for (const [from, to, manner] of leads) {
    // A leader to a line below the picture would only end at its edge.
    if (from > height || to > height) continue
    pen.strokeStyle = colour(manner === 'plain' ? 'ink' : manner)
    pen.beginPath()
    pen.moveTo(bar + 9, from)
    pen.lineTo(bar + 12, from)
    pen.lineTo(width - 3, to)
    pen.lineTo(width, to)
    pen.stroke()
  }
}

/** In one ink: the darker, the farther it stands out of the middle of its moment. So a tone in a quiet channel is as dark as one in noise. */
function paintRows(
  pen: CanvasRenderingContext2D,
  { radio, yOf, height }: Painting,
  width: number,
  ink: string,
): void {
  const rows = rowsOf(radio)
  if (rows === undefined) return
  const rowPixels = (rowMs * pixelsPerSecond) / 1000
  const count = Math.min(rowsKept, Math.ceil(height / rowPixels) + 2)
  const picture = pictureOf(count)
  const [red, green, blue] = parsedInk(ink)
  const data = picture.image.data
  for (let row = 0; row < count; row++) {
    const at = (((rows.lastIndex - row) % rowsKept) + rowsKept) % rowsKept
    const from = rows.middles[at]! + standOut
    for (let bin = 0; bin < rowBins; bin++) {
      const level = rows.levels[at * rowBins + bin]!
      const pixel = (row * rowBins + bin) * 4
      data[pixel] = red
      data[pixel + 1] = green
      data[pixel + 2] = blue
      data[pixel + 3] = level === 0 ? 0 : Math.max(0, Math.min(240, (level - from) * 5))
    }
  }
  picture.pen.putImageData(picture.image, 0, 0)
  pen.imageSmoothingEnabled = false
  const top = yOf(rows.lastWallMs)
  pen.drawImage(picture.canvas, 0, 0, rowBins, count, 0, top, width, count * rowPixels)
}

/** Where the tones lie, and each ten seconds. */
function paintScale(
  pen: CanvasRenderingContext2D,
  { nowMs, yOf, height }: Painting,
  width: number,
  ink: string,
): void {
  pen.globalAlpha = 0.35
  pen.fillStyle = ink
  for (const hz of [1200, 2200]) pen.fillRect((hz / 4000) * width, 0, 1, 6)
  for (let at = Math.floor(nowMs / 10_000) * 10_000; yOf(at) < height; at -= 10_000)
    pen.fillRect(0, yOf(at), 6, 1)
  pen.globalAlpha = 1
}

/** Half dB over the middle from which something is shown: noise of a single row reaches some 10 dB. */
const standOut = 9

let kept: { canvas: HTMLCanvasElement; pen: CanvasRenderingContext2D; image: ImageData } | undefined

function pictureOf(rows: number) {
  if (kept === undefined || kept.canvas.height !== rows) {
    const canvas = document.createElement('canvas')
    canvas.width = rowBins
    canvas.height = rows
    const pen = canvas.getContext('2d')!
    kept = { canvas, pen, image: pen.createImageData(rowBins, rows) }
  }
  return kept
}

function parsedInk(ink: string): readonly [number, number, number] {
  const value = Number.parseInt(ink.trim().slice(1), 16)
  return [(value >> 16) & 255, (value >> 8) & 255, value & 255]
}

function Line({ entry, radio }: { readonly entry: Entry; readonly radio: string | undefined }) {
  const { kinds } = words.value
  const what = kinds[entry.kind] ?? entry.kind
  return (
    <li class={`line ${entry.manner}`} data-key={entry.key} data-kind={entry.kind}>
      <time>{timeOf(entry.atWallMs)}</time>{' '}
      {entry.station !== undefined && (
        <a href={`#/stations/${encodeURIComponent(entry.station)}`}>{entry.station}</a>
      )}{' '}
      <b>{what}</b> {radio !== undefined && <span class="small">{radio}: </span>}
      <span class="said">{textOf(entry)}</span>
      {entry.reason !== undefined && <span class="why"> {entry.reason}</span>}
    </li>
  )
}

function textOf({ kind, text, detail }: Entry): string {
  const { frame, damaged } = words.value
  if (detail === undefined) return text
  if (kind === 'damaged') {
    const lasted = duration((detail.toWallMs as number) - (detail.fromWallMs as number))
    return damaged.text(lasted, db(detail.levelDbfs as number))
  }
  const via = detail.via as readonly string[]
  const bits = detail.repairedBits as number
  return [
    text,
    ...(via.length > 0 ? [frame.via(via.join(', '))] : []),
    ...(bits > 0 ? [frame.repairedBits(bits)] : []),
  ].join('; ')
}

/** The one that was chosen, or all. */
export function radiosShown(): readonly RadioView[] {
  const radios = state.value?.radios ?? []
  const chosen = radios.filter(({ radio }) => radio === shownRadio.value)
  return chosen.length > 0 ? chosen : radios
}
