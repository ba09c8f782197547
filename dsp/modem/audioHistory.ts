/** The latest stretch of a stream of samples, addressed by their number since the start. */
export interface AudioHistory {
  append(samples: Float32Array): void
  /** samples appended so far */
  readonly end: number
  /** @returns a copy, zeros where the stretch lies outside of what is kept */
  slice(start: number, end: number): Float64Array
}

/** @param capacity samples kept */
export function createAudioHistory(capacity: number): AudioHistory {
  const ring = new Float32Array(capacity)
  let end = 0
  return {
    get end() {
      return end
    },
    append(samples) {
      const kept = samples.subarray(Math.max(0, samples.length - capacity))
      const at = (end + samples.length - kept.length) % capacity
      const first = Math.min(kept.length, capacity - at)
      ring.set(kept.subarray(0, first), at)
      ring.set(kept.subarray(first), 0)
      end += samples.length
    },
    slice(from, to) {
      const copy = new Float64Array(Math.max(0, to - from))
      const oldest = Math.max(0, end - capacity)
      for (let index = Math.max(from, oldest); index < Math.min(to, end); index++)
        copy[index - from] = ring[index % capacity]!
      return copy
    },
  }
}
