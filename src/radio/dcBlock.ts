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
  // In an array: a number that a closure holds is made anew, on the heap, at each change.
  const mean = Float64Array.of(Number.NaN)
  return (block) => {
    const out = new Float32Array(block.length)
    if (Number.isNaN(mean[0])) mean[0] = block.find(Number.isFinite) ?? Number.NaN
    if (!Number.isNaN(mean[0])) takeOut(block, weight, mean, out)
    return out
  }
}

/** On its own, with nothing but numbers in it, for the same reason. */
function takeOut(block: Float32Array, weight: number, mean: Float64Array, out: Float32Array): void {
  let running = mean[0]!
  for (let index = 0; index < block.length; index++) {
    const sample = block[index]!
    // A broken source may deliver NaN, which would stay in the mean for ever.
    if (!Number.isFinite(sample)) continue
    running += weight * (sample - running)
    out[index] = sample - running
  }
  mean[0] = running
}
