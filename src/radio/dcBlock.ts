/** Takes the constant part out of audio, block by block. */
export type DcBlock = (block: Float32Array) => Float32Array

/** Far below the lowest tone, so that nothing of a modem signal is touched. */
const cornerHz = 20

/**
 * A one-pole high-pass. Converters of cheap sound cards are off zero by up to some percent of full scale; with a closed squelch
 * that offset is all there is, and would look like a steady signal.
 */
export function createDcBlock(sampleRateHz: number): DcBlock {
  const weight = 1 - Math.exp((-2 * Math.PI * cornerHz) / sampleRateHz)
  let mean: number | undefined
  return (block) => {
    const out = new Float32Array(block.length)
    // Kept outside of the loop: a number that a closure holds is made anew, on the heap, at each change.
    let running = mean ?? block.find(Number.isFinite)
    if (running === undefined) return out
    for (let index = 0; index < block.length; index++) {
      const sample = block[index]!
      // A broken source may deliver NaN, which would stay in the mean for ever.
      if (!Number.isFinite(sample)) continue
      running += weight * (sample - running)
      out[index] = sample - running
    }
    mean = running
    return out
  }
}
