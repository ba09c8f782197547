import type { LostFrame } from '../../../../dsp/causes/lossWatch.js'
import { eyeDiagram } from '../../../../dsp/measure/eyeDiagram.js'
import { measureSpectrum } from '../../../../dsp/measure/spectrum.js'
import { workingRateHz } from '../../../../dsp/modem/frontEnd/frontEnd.js'
import { markHz, spaceHz, symbolRateHz } from '../../../../dsp/modem/modulator.js'
import { toneSums, windowPower } from '../../../../dsp/modem/quality/symbolCorrelation.js'
import { powerDb } from '../../../../dsp/numbers/power.js'
import { linesBelow, linesWithin } from './causeLines.js'
import {
  echoPicture,
  fitBand,
  limitLines,
  placesBelow,
  placesWithin,
  timingPicture,
} from './causePlaces.js'
import { inkPicture } from './png.js'

const traceColumns = 300
const toneColumns = 100
/** Above the axis the signal, below it both tones. */
const traceHeight = 60
const toneRangeDb = 40
const spectrumRangeDb = 60
const spectrumSpanHz = 4000

/**
 * What the signal of one frame looked like: its outline and both tones over time, its spectrum, its eye. Of a damaged one also how
 * well a signal fits it, with a mark where each cause shows.
 * @param audio at the working rate, a little of what was around it included
 * @param damage why it was damaged, and how long the audio before its first sample is
 */
export function framePictures(audio: Float32Array, damage?: Damage): string {
  // What was around a damaged one closes no eye of its own.
  const around = Math.max(0, Math.round(((damage?.marginS ?? 0) - readMarginS) * workingRateHz))
  const own = audio.subarray(around, audio.length - around)
  const eye = eyeDiagram(own)
  // Cells that were hit seldom count: they are what closes the eye.
  const darkness = eye.density.map((share) => Math.sqrt(share))
  return `<div class="signal">
${timeFigure(audio, damage)}
${spectrumFigure(own, damage?.lost)}
<div><img src="${inkPicture(eye.width, eye.height, darkness)}" alt="Eye of the decision over two symbols">
<p class="small">eye: two symbols; 1200 Hz above, 2200 Hz below</p></div>
${damage === undefined ? '' : echoPicture(damage.lost) + timingPicture({ ...damage, seconds: audio.length / workingRateHz })}</div>`
}

function timeFigure(audio: Float32Array, damage: Damage | undefined): string {
  const seconds = audio.length / workingRateHz
  const peak = audio.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0)
  const peakText = `${powerDb(peak * peak).toFixed(1)} dBFS`
  const label = `Signal over ${seconds.toFixed(2)} s, peak ${peakText}; below it the power of both tones`
  const caption = `signal over ${seconds.toFixed(2)} s, peak ${peakText}; below: 1200 Hz (line) and 2200 Hz (dashes), 10 dB a step`
  const drawn = outline(audio, peak) + tones(audio)
  if (damage === undefined)
    return `<div><svg viewBox="0 0 300 120" preserveAspectRatio="none" role="img" aria-label="${label}">${drawn}</svg>
<p class="small">${caption}</p></div>`
  const time = { ...damage, seconds }
  const limits = limitLines(damage.lost, traceHeight / 2, scaleOf(peak))
  return `<div><svg class="long" viewBox="0 0 300 156" preserveAspectRatio="none" role="img" aria-label="${label}">${drawn}${limits}${fitBand(time, 124, 152)}${placesWithin(time, 156)}</svg>
${placesBelow(time)}<p class="small">${caption}; at the foot: Eb/N0 of each 20 ms, 0 to 20 dB, in noise alone a frame is read above the dashes${limits === '' ? '' : '; dots: the converter’s limits'}</p></div>`
}

/** Of what was read so much is shown around it, and of what was damaged as much in its eye and spectrum. */
export const readMarginS = 0.02

export interface Damage {
  readonly lost: LostFrame
  readonly marginS: number
}

const scaleOf = (peak: number): number => (peak > 0 ? (traceHeight / 2 - 1) / peak : 0)

function outline(audio: Float32Array, peak: number): string {
  const scale = scaleOf(peak)
  const columns = Math.min(traceColumns, audio.length)
  const step = audio.length / Math.max(1, columns)
  const upper: string[] = []
  const lower: string[] = []
  for (let column = 0; column < columns; column++) {
    let [least, most] = [0, 0]
    for (let n = Math.floor(column * step); n < Math.floor((column + 1) * step); n++) {
      least = Math.min(least, audio[n]!)
      most = Math.max(most, audio[n]!)
    }
    const x = ((column + 0.5) * 300) / columns
    upper.push(point(x, traceHeight / 2 - most * scale))
    lower.push(point(x, traceHeight / 2 - least * scale))
  }
  if (columns === 0) return ''
  return `<path class="body" d="M${upper.join('L')}L${lower.reverse().join('L')}Z"/>`
}

function tones(audio: Float32Array): string {
  const lines = [markHz, spaceHz].map((toneHz) => {
    const sums = toneSums(audio, toneHz)
    const columns = Math.min(toneColumns, Math.floor(audio.length / 20))
    return Array.from({ length: columns }, (_, column) =>
      meanToneDb(sums, (column * audio.length) / columns, ((column + 1) * audio.length) / columns),
    )
  })
  const top = Math.ceil(Math.max(...lines.flat(), -100) / 10) * 10
  const yOf = (level: number): number =>
    traceHeight + 4 + (Math.min(toneRangeDb, top - level) / toneRangeDb) * (116 - traceHeight)
  const drawn = lines.map((line, at) => {
    const points = line.map((level, column) =>
      point(((column + 0.5) * 300) / line.length, yOf(level)),
    )
    if (points.length === 0) return ''
    return `<path d="M${points.join('L')}"${at === 1 ? ' stroke-dasharray="3 2"' : ''}/>`
  })
  return steps(300, yOf, top, toneRangeDb) + drawn.join('')
}

/** Mean over windows of a symbol. */
function meanToneDb(sums: ReturnType<typeof toneSums>, from: number, to: number): number {
  const symbol = workingRateHz / symbolRateHz
  let power = 0
  let count = 0
  for (let at = from; at + symbol <= to; at += symbol / 2) {
    power += windowPower(sums, at, at + symbol)
    count++
  }
  return powerDb(power / Math.max(1, count))
}

function spectrumFigure(audio: Float32Array, lost: LostFrame | undefined): string {
  const { binHz, densityDbfsPerHz } = measureSpectrum(audio, {
    ...{ sampleRateHz: workingRateHz, size: 512 },
  })
  const levels = [...densityDbfsPerHz.subarray(0, Math.floor(spectrumSpanHz / binHz))]
  const top = Math.ceil(Math.max(...levels) / 10) * 10
  const yOf = (level: number): number =>
    2 + (Math.min(spectrumRangeDb, top - level) / spectrumRangeDb) * 116
  const points = levels.map((level, bin) => point((bin * binHz * 160) / spectrumSpanHz, yOf(level)))
  const marks = [markHz, spaceHz].map((hz) => {
    const x = (hz * 160) / spectrumSpanHz
    return `<path class="heard" d="M${x} 0V120"/>`
  })
  /** the strongest thereabouts */
  const levelAt = (hz: number): number =>
    Math.max(...levels.filter((_, bin) => Math.abs(bin * binHz - hz) < 100))
  const causes = lost?.causes ?? []
  const drawn = `${steps(160, yOf, top, spectrumRangeDb)}${marks.join('')}<path d="M${points.join('L')}"/>`
  return `<div><svg viewBox="0 0 160 120" preserveAspectRatio="none" role="img" aria-label="Spectrum from 0 to 4 kHz">${drawn}${linesWithin(causes, (hz) => yOf(levelAt(hz)), 116 / spectrumRangeDb)}</svg>
${linesBelow(causes)}<p class="small">spectrum, 0 to 4 kHz; both tones marked; 10 dB a step</p></div>`
}

function steps(
  width: number,
  yOf: (level: number) => number,
  top: number,
  rangeDb: number,
): string {
  const lines = Array.from({ length: rangeDb / 10 + 1 }, (_, step) => yOf(top - 10 * step))
  return `<path class="grid" d="${lines.map((y) => `M0 ${y.toFixed(1)}H${width}`).join('')}"/>`
}

const point = (x: number, y: number): string => `${x.toFixed(0)} ${y.toFixed(1)}`
