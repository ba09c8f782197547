/** Counts the input samples at the converter's limits, for any recent segment. */
export interface ClippingLog {
  append(block: Float32Array): void
  /** share of the input samples from `start` to `end` that are clipped, 0 to 1, to the nearest cell */
  share(start: number, end: number): number
}

/** Full scale of 8 bits is 127/128, and of 16 bits 32767/32768. */
export const clippedFrom = 127 / 128

/** @param capacity input samples looked back on */
export function createClippingLog(capacity: number): ClippingLog {
  const cells = new Uint16Array(Math.ceil(capacity / cellSamples) + 1)
  let end = 0
  return {
    append(block) {
      let index = 0
      while (index < block.length) {
        const cell = Math.floor(end / cellSamples) % cells.length
        const inCell = end % cellSamples
        if (inCell === 0) cells[cell] = 0
        const stop = Math.min(block.length, index + cellSamples - inCell)
        cells[cell]! += countClipped(block, index, stop)
        end += stop - index
        index = stop
      }
    },
    share(start, stop) {
      const first = Math.max(0, Math.round(start / cellSamples))
      const last = Math.min(Math.round(stop / cellSamples), Math.ceil(end / cellSamples))
      if (last - first > cells.length || last <= first) return 0
      let clipped = 0
      for (let cell = first; cell < last; cell++) clipped += cells[cell % cells.length]!
      return clipped / ((last - first) * cellSamples)
    },
  }
}

const cellSamples = 64

function countClipped(block: Float32Array, from: number, to: number): number {
  let clipped = 0
  for (let index = from; index < to; index++) if (Math.abs(block[index]!) >= clippedFrom) clipped++
  return clipped
}
