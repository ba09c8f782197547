import type { LevelReading } from '../../../dsp/measure/levelMeter.js'
import type { Spectrum } from '../../../dsp/measure/spectrum.js'
import { markHz, spaceHz } from '../../../dsp/modem/modulator.js'
import type { ReceivedFrame } from '../../../dsp/modem/receivedFrame.js'
import { formatAddress } from '../../ax25/address.js'
import { decodeFrame } from '../../ax25/frame.js'
import { keyDelayAdvice } from '../../radio/keyDelay.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { clockText } from '../decode/decodeFormat.js'

/** One state of the meter. */
export interface LevelsReading {
  readonly title: string
  readonly atS: number
  /** since the last reading */
  readonly levels: LevelReading
  /** what the advice goes by: the last ten seconds */
  readonly base: LevelReading
  readonly spectrum: Spectrum | undefined
  readonly channelBusy: boolean
  readonly frameCount: number
  readonly lastFrame: { readonly frame: ReceivedFrame; readonly atS: number } | undefined
  readonly advice: readonly string[]
}

/** what the meter gives for digital silence, and what rounds to it */
const silenceDbfs = -150
const barLength = 44
const barFromDbfs = -60

/** The meter as lines for a terminal of that width. */
export function meterLines(reading: LevelsReading, columns: number): string[] {
  const { levels, base, lastFrame } = reading
  const lines = [
    `${reading.title}   ${clockText(reading.atS, 0)}`,
    '',
    `level    ${decibels(levels.rmsDbfs)}  ${bar(levels.rmsDbfs, base.peakDbfs)}`,
    `peak     ${decibels(base.peakDbfs)}  ${scaleText()}`,
    `noise    ${noiseText(base.noiseFloorDbfs)}  the quietest tenth of the last seconds without a carrier`,
    `clipped  ${(100 * base.clippedShare).toFixed(2).padStart(6)} %       ${reading.channelBusy ? 'a packet signal is on the channel' : ''}`,
    '',
    ...(reading.spectrum === undefined ? [] : [...spectrumLines(reading.spectrum), '']),
    `packets  ${reading.frameCount}${lastFrame === undefined ? '' : `, the last ${(reading.atS - lastFrame.atS).toFixed(0)} s ago`}`,
    ...(lastFrame === undefined ? [] : folded(frameText(lastFrame.frame), columns - 3)),
    '',
    ...reading.advice.flatMap((text) => wrapped(text, columns - 3)),
  ]
  return lines.map((line) => [...harmlessText(line)].slice(0, columns - 1).join(''))
}

/**
 * The meter as one line, for a file, a pipe or a screen reader. One blank before a figure: a speech synthesiser says a minus
 * after one, and leaves it out after two (tried with espeak-ng 1.51).
 */
export function meterLine({ atS, levels, base }: LevelsReading): string {
  const [level, peak] = [levels.rmsDbfs, levels.peakDbfs].map((one) => decibels(one).trim())
  const noise = noiseText(base.noiseFloorDbfs).trim()
  return `${clockText(atS, 1).padStart(9)}  level ${level}  peak ${peak}  noise ${noise}  clipped ${(100 * levels.clippedShare).toFixed(2)} %`
}

/** Who was heard, and how. */
export function frameText(frame: ReceivedFrame): string {
  const decoded = decodeFrame(frame.octets)
  const source = decoded.ok ? formatAddress(decoded.frame.source) : 'an unreadable sender'
  const { quality } = frame
  const from = harmlessText(source)
  // A frame that was sent to find the key delay: that is what somebody waits for.
  const advice = decoded.ok && keyDelayAdvice(decoded.frame.payload, quality)
  if (advice) return `${from}: ${advice}`
  const isAt9600 = quality.bitRate === 9600
  const figures = [
    `level ${quality.levelDbfs.toFixed(1)} dBFS`,
    `${isAt9600 ? '4 kHz' : 'space'} ${Math.abs(quality.toneBalanceDb).toFixed(1)} dB ${quality.toneBalanceDb < 0 ? 'low' : 'high'}`,
    `Eb/N0 ${quality.ebN0Db.toFixed(0)} dB`,
    ...(isAt9600 ? [] : [`tones ${signed(quality.toneOffsetHz)} Hz`]),
    `flags before it ${Math.round((quality.preambleFlags * 8000) / (quality.bitRate ?? 1200))} ms`,
    ...(quality.clippedShare > 0 ? [`clipped ${(100 * quality.clippedShare).toFixed(1)} %`] : []),
  ]
  return `${from}: ${figures.join(', ')}`
}

const signed = (value: number): string =>
  (Math.round(value) > 0 ? '+' : '') + (Math.round(value) + 0)

const decibels = (value: number): string =>
  value <= silenceDbfs ? '     silent' : `${value.toFixed(1).padStart(6)} dBFS`

/** A carrier that never paused leaves the noise unknown. */
const noiseText = (value: number): string => (Number.isNaN(value) ? '    unknown' : decibels(value))

/** Level as a bar, peak as a mark. */
function bar(levelDbfs: number, peakDbfs: number): string {
  const place = (dbfs: number): number =>
    Math.round(Math.min(1, Math.max(0, 1 - dbfs / barFromDbfs)) * barLength)
  const filled = place(levelDbfs)
  const cells = [...`${'='.repeat(filled)}${' '.repeat(barLength - filled)}`]
  if (peakDbfs > barFromDbfs) cells[Math.min(barLength - 1, place(peakDbfs))] = '|'
  return `[${cells.join('')}]`
}

/** Labels under the bar. */
function scaleText(): string {
  const cells = new Array<string>(barLength + 6).fill(' ')
  for (const dbfs of [-60, -40, -20, 0]) {
    const at = Math.round((1 - dbfs / barFromDbfs) * barLength) + 1
    for (const [index, character] of [...String(dbfs)].entries()) cells[at + index] = character
  }
  return cells.join('').trimEnd()
}

const spectrumColumns = 64
const spectrumRows = 6
const spectrumToHz = 4000
const spectrumRangeDb = 48
const steps = ' ▁▂▃▄▅▆▇█'

/** 0 to 4 kHz as columns, 48 dB high from the strongest downwards, with the places of the two tones below. */
export function spectrumLines({ binHz, densityDbfsPerHz }: Spectrum): string[] {
  const columnHz = spectrumToHz / spectrumColumns
  const columns = Array.from({ length: spectrumColumns }, (_, column) => {
    const from = Math.max(1, Math.round((column * columnHz) / binHz))
    const to = Math.max(from + 1, Math.round(((column + 1) * columnHz) / binHz))
    return Math.max(...densityDbfsPerHz.subarray(from, to), -200)
  })
  const top = Math.max(...columns)
  const rowDb = spectrumRangeDb / spectrumRows
  const rows = Array.from({ length: spectrumRows }, (_, row) => {
    const bottom = top - (row + 1) * rowDb
    return columns
      .map((value) => {
        const eighths = Math.round(Math.min(1, Math.max(0, (value - bottom) / rowDb)) * 8)
        return steps[eighths]
      })
      .join('')
      .trimEnd()
  })
  const axis = new Array<string>(spectrumColumns + 6).fill(' ')
  const label = (hz: number, text: string): void => {
    const at = Math.floor(hz / columnHz)
    for (const [index, character] of [...text].entries()) axis[at + index] = character
  }
  label(0, '0')
  label(markHz, '1200')
  label(spaceHz, '2200')
  label(3000, '3000')
  label(spectrumToHz - columnHz, '4000 Hz')
  return [...rows, axis.join('').trimEnd()]
}

/** Words on lines of at most `width`, the first with a mark in front. */
export const wrapped = (text: string, width: number): string[] =>
  folded(text, width).map((line, index) => (index === 0 ? `* ${line}` : line))

/** Words on lines of at most `width`, those after the first moved in by two more. */
function folded(text: string, width: number): string[] {
  const lines: string[] = ['']
  for (const word of text.split(' ')) {
    const last = lines.at(-1)!
    if (last !== '' && last.length + 1 + word.length > width) lines.push(word)
    else lines[lines.length - 1] = last === '' ? word : `${last} ${word}`
  }
  return lines.map((line, index) => (index === 0 ? line : `  ${line}`))
}
