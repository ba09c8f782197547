/** Numbers below `size`, each with a key, handed out by the smallest key first (a binary heap). */
export interface IndexQueue {
  push(index: number, key: number): void
  /** the index with the smallest key; undefined when none is left */
  pop(): number | undefined
}

/** Room for each number once. */
export function indexQueue(size: number): IndexQueue {
  const heap = new Int32Array(size)
  const keys = new Float64Array(size)
  let length = 0
  const keyAt = (at: number): number => keys[heap[at]!]!
  const swap = (a: number, b: number): void => {
    const held = heap[a]!
    heap[a] = heap[b]!
    heap[b] = held
  }
  return {
    push(index, key) {
      keys[index] = key
      let at = length++
      heap[at] = index
      while (at > 0) {
        const parent = (at - 1) >> 1
        if (keyAt(parent) <= key) return
        swap(at, parent)
        at = parent
      }
    },
    pop() {
      if (length === 0) return undefined
      const first = heap[0]!
      heap[0] = heap[--length]!
      let at = 0
      for (;;) {
        const left = 2 * at + 1
        if (left >= length) return first
        const smaller = left + 1 < length && keyAt(left + 1) < keyAt(left) ? left + 1 : left
        if (keyAt(at) <= keyAt(smaller)) return first
        swap(at, smaller)
        at = smaller
      }
    },
  }
}
