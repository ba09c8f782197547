import { createSpectrumRows, rowsPerSecond } from '../../../../dsp/measure/spectrumRows.js'
import { clippedFrom } from '../../../../dsp/modem/frontEnd/clippingLog.js'
import { workingRateHz } from '../../../../dsp/modem/frontEnd/frontEnd.js'
import { emptyColumn, type TimeColumn } from './timeline.js'

/** Makes columns of a stream: the spectrum at the working rate, level, peak and clipping of the samples as they came. */
export interface TimeColumns {
  /** @param working the same audio at the working rate, as far as it is ready */
  push(block: Float32Array, working: Float32Array): TimeColumn[]
}

export function createTimeColumns(sampleRateHz: number): TimeColumns {
  const columnSamples = sampleRateHz / rowsPerSecond
  const spectrum = createSpectrumRows(workingRateHz)
  const spectra: Uint8Array[] = []
  const metered: TimeColumn[] = []
  let column = emptyColumn()
  let columnIndex = 0
  let sampleCount = 0

  const close = (): void => {
    metered.push(column)
    columnIndex++
    column = emptyColumn()
  }
  const meter = (block: Float32Array): void => {
    for (let at = 0; at < block.length; ) {
      // Columns keep to those of the spectrum, also where an eighth of a second is no whole number of samples.
      const columnEnd = Math.round((columnIndex + 1) * columnSamples)
      const to = Math.min(block.length, at + columnEnd - sampleCount)
      measure(column, block, at, to)
      sampleCount += to - at
      at = to
      if (sampleCount >= columnEnd) close()
    }
  }

  return {
    push(block, working) {
      meter(block)
      for (const { levels } of spectrum.push(working)) spectra.push(levels)
      const count = Math.min(spectra.length, metered.length)
      const levels = spectra.splice(0, count)
      return metered.splice(0, count).map((one, at) => ({ ...one, levels: levels[at]! }))
    },
  }
}

/** A broken source may deliver what is no number: silence stands in for it. */
function measure(column: TimeColumn, block: Float32Array, from: number, to: number): void {
  let { squares, peak, clippedCount } = column
  for (let at = from; at < to; at++) {
    const size = Math.abs(block[at]!)
    if (!(size < Number.POSITIVE_INFINITY)) continue
    squares += size * size
    if (size > peak) peak = size
    if (size >= clippedFrom) clippedCount++
  }
  column.squares = squares
  column.peak = peak
  column.clippedCount = clippedCount
  column.sampleCount += to - from
}
