// What lies below the signal is taken out first: mains hum, sub-audible tones, jumps of the zero line.
//
// From the audio its own moving average is taken away, averaged twice over 1/706 s: 1 - sinc(f/706)^2. That is soft (3 dB down
// at 400 Hz, 9 at 250, 33 at 50) and has no phase: a recursive filter of the same depth turns the mark tone against
// the space tone, which cost 3 frames of 50 where the mark tone is 8 dB stronger, this one 1. After a jump it is even again
// within 3 ms. It takes four additions a sample.

/** Samples of the average, 1/706 s. Found by trial among 400 to 800 Hz on hum, tones of 67 to 250 Hz, jumps, and noise alone. */
const length = 17
const scale = 1 / (length * length)

/**
 * What is left of a tone's amplitude.
 * @param frequency in cycles a sample
 * @see the response of a moving average, sin(pi f L) / (L sin(pi f)), squared for two of them
 */
export function highPassGain(frequency: number): number {
  const turn = Math.PI * frequency
  return 1 - (Math.sin(turn * length) / (length * Math.sin(turn))) ** 2
}

export interface HighPass {
  /**
   * @param block finite samples at the working rate
   * @returns what became complete: output sample k stands for input sample k; valid until the next call
   */
  process(block: Float32Array): Float32Array
  /** the rest, at the end of a stream */
  flush(): Float32Array
}

export function createHighPass(): HighPass {
  /** what must follow a sample before it can come out */
  const delay = length - 1
  // Behind what was kept of the block before: samples, and sums over `length` of them.
  let samples = new Float64Array(length)
  let sums = new Float64Array(length)
  let output = new Float32Array(0)
  /** the latest of the sums, and the sum of them */
  const totals = new Float64Array(2)
  let toDrop = delay

  const process = (block: Float32Array): Float32Array => {
    const count = block.length
    if (output.length < count) {
      output = new Float32Array(count)
      samples = grown(samples, count)
      sums = grown(sums, count)
    }
    samples.set(block, length)
    filterInto(output, samples, sums, totals, count)
    samples.copyWithin(0, count, count + length)
    sums.copyWithin(0, count, count + length)
    const dropped = Math.min(toDrop, count)
    toDrop -= dropped
    return output.subarray(dropped, count)
  }
  return { process, flush: () => process(new Float32Array(delay)) }
}

/** On its own, so that it is compiled while it runs. */
function filterInto(
  output: Float32Array,
  samples: Float64Array,
  sums: Float64Array,
  totals: Float64Array,
  count: number,
): void {
  let sum = totals[0]!
  let sumOfSums = totals[1]!
  for (let index = 0; index < count; index++) {
    sum += samples[index + length]! - samples[index]!
    sums[index + length] = sum
    sumOfSums += sum - sums[index]!
    output[index] = samples[index + 1]! - sumOfSums * scale
  }
  totals[0] = sum
  totals[1] = sumOfSums
}

function grown(kept: Float64Array, count: number): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(length + count)
  larger.set(kept.subarray(0, length))
  return larger
}
