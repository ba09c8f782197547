/** The latest part of a stream of samples, addressed by their number since the start. */
export interface AudioHistory {
  append(samples: Float32Array): void
  /** samples appended so far */
  readonly end: number
  /** @returns a copy, zeros where that lies outside of what is kept */
  slice(start: number, end: number): Float32Array
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
      const copy = new Float32Array(Math.max(0, to - from))
      const first = Math.max(from, 0, end - capacity)
      const count = Math.min(to, end) - first
      if (count <= 0) return copy
      const at = first % capacity
      const whole = Math.min(count, capacity - at)
      copy.set(ring.subarray(at, at + whole), first - from)
      copy.set(ring.subarray(0, count - whole), first - from + whole)
      return copy
    },
  }
}
