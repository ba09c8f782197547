// A closed squelch gives one value, sample after sample, often for hours. Once all that came before it has gone through the
// receiver, such samples tell nothing more, and are counted instead.

/** Longer than anything that the receiver still looks ahead for, or waits for at the end of a frame. */
const settlingS = 1

export interface Stillness {
  /**
   * What is to be listened to, in its order; which samples are left out does not depend on the borders of blocks.
   * @param listen gets parts of the block, or repeated samples; not kept
   */
  pass(block: Float32Array, listen: (samples: Float32Array) => void): void
  /** Samples held back, at the end of a stream. */
  finish(listen: (samples: Float32Array) => void): void
  /** What stands for input sample `listened` of those that were listened to. */
  inputAt(listened: number): number
}

/** @param lookBackSamples how far behind the latest sample inputAt() is asked for */
export function createStillness(sampleRateHz: number, lookBackSamples: number): Stillness {
  const settlingSamples = Math.ceil(settlingS * sampleRateHz)
  // Left out in multiples of 10 ms: the receiver's own steps and oscillators go on as if nothing had been.
  const unit = sampleRateHz / greatestDivisor(sampleRateHz, 100)
  /** left out: from which listened sample on there are how many more before it */
  let gaps: { at: number; before: number }[] = []
  let listened = 0
  let leftOut = 0
  let value = Number.NaN
  /** how often it came one after the other */
  let run = 0
  /** of these held back: less than a unit */
  let held = 0

  const give = (samples: Float32Array, listen: (samples: Float32Array) => void): void => {
    if (samples.length === 0) return
    listened += samples.length
    listen(samples)
  }
  const giveHeld = (listen: (samples: Float32Array) => void): void => {
    give(new Float32Array(held).fill(value), listen)
    held = 0
  }
  const leaveOut = (count: number): void => {
    leftOut += count
    const last = gaps.at(-1)
    if (last?.at === listened) last.before = leftOut
    else {
      // The last one before the look back tells of what lies between.
      const first = gaps.findLastIndex(({ at }) => at <= listened - lookBackSamples)
      gaps = gaps.slice(Math.max(0, first))
      gaps.push({ at: listened, before: leftOut })
    }
  }

  return {
    pass(block, listen) {
      let at = 0
      let from = 0
      while (at < block.length) {
        const same = sameFrom(block, at, value)
        if (same === at) {
          giveHeld(listen)
          // Sound: only its last sample may begin a run.
          const next = changingUntil(block, at)
          value = block[next - 1]!
          run = 1
          at = next
          continue
        }
        const still = Math.max(0, settlingSamples - run)
        run += same - at
        const spare = same - at - still
        if (spare > 0) {
          give(block.subarray(from, same - spare), listen)
          held += spare
          const whole = held - (held % unit)
          if (whole > 0) leaveOut(whole)
          held -= whole
          from = same
        }
        at = same
      }
      give(block.subarray(from), listen)
    },
    finish: giveHeld,
    inputAt(position) {
      for (let index = gaps.length - 1; index >= 0; index--)
        if (gaps[index]!.at <= position) return position + gaps[index]!.before
      return position
    },
  }
}

/** @returns the first place from `at` on that has another value */
function sameFrom(block: Float32Array, at: number, value: number): number {
  let next = at
  while (next < block.length && block[next] === value) next++
  return next
}

/** @returns the first place behind `at` whose sample is that before it, or the end */
function changingUntil(block: Float32Array, at: number): number {
  let next = at + 1
  let before = block[at]
  while (next < block.length) {
    const sample = block[next]
    if (sample === before) break
    before = sample
    next++
  }
  return next
}

function greatestDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestDivisor(b, a % b)
}
