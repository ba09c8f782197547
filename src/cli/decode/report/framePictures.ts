import { eyeDiagram } from '../../../../dsp/measure/eyeDiagram.js'
import { measureSpectrum } from '../../../../dsp/measure/spectrum.js'
import { workingRateHz } from '../../../../dsp/modem/frontEnd/frontEnd.js'
import { markHz, spaceHz, symbolRateHz } from '../../../../dsp/modem/modulator.js'
import { toneSums, windowPower } from '../../../../dsp/modem/quality/symbolCorrelation.js'
import { powerDb } from '../../../../dsp/numbers/power.js'
import { inkPicture } from './png.js'

const traceColumns = 300
const toneColumns = 100
/** Above the axis the signal, below it both tones. */
const traceHeight = 60
const toneRangeDb = 40
const spectrumRangeDb = 60
const spectrumSpanHz = 4000

/**
 * What the signal of one frame looked like: its outline and both tones over time, its spectrum, its eye.
 * @param audio at the working rate, a little of what was around it included
 */
export function framePictures(audio: Float32Array): string {
  const seconds = audio.length / workingRateHz
  const peak = audio.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0)
  const peakText = `${powerDb(peak * peak).toFixed(1)} dBFS`
  const eye = eyeDiagram(audio)
  // Cells that were hit seldom count: they are what closes the eye.
  const darkness = eye.density.map((share) => Math.sqrt(share))
  return `<div class="signal">
<div><svg viewBox="0 0 300 120" preserveAspectRatio="none" role="img" aria-label="Signal over ${seconds.toFixed(2)} s, peak ${peakText}; below it the power of both tones">${outline(audio, peak)}${tones(audio)}</svg>
<p class="small">signal over ${seconds.toFixed(2)} s, peak ${peakText}; below: 1200 Hz (line) and 2200 Hz (dashes), 10 dB a step</p></div>
<div><svg viewBox="0 0 160 120" preserveAspectRatio="none" role="img" aria-label="Spectrum from 0 to 4 kHz">${spectrum(audio)}</svg>
<p class="small">spectrum, 0 to 4 kHz; both tones marked; 10 dB a step</p></div>
<div><img src="${inkPicture(eye.width, eye.height, darkness)}" alt="Eye of the decision over two symbols">
<p class="small">eye: two symbols; 1200 Hz above, 2200 Hz below</p></div>
</div>`
}

function outline(audio: Float32Array, peak: number): string {
  const scale = peak > 0 ? (traceHeight / 2 - 1) / peak : 0
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

function spectrum(audio: Float32Array): string {
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
  return `${steps(160, yOf, top, spectrumRangeDb)}${marks.join('')}<path d="M${points.join('L')}"/>`
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
