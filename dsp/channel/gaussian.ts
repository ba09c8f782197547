/** Uniform on 0 (included) to 1 (excluded); same shape as the rest of the program's. */
export type Random = () => number

/**
 * Normally distributed numbers, mean 0, variance 1.
 * @see G. E. P. Box, M. E. Muller, A Note on the Generation of Random Normal Deviates, 1958
 */
export function gaussian(random: Random): Random {
  let spare: number | undefined
  return () => {
    if (spare !== undefined) {
      const value = spare
      spare = undefined
      return value
    }
    // 1 - random() is never 0.
    const radius = Math.sqrt(-2 * Math.log(1 - random()))
    const angle = 2 * Math.PI * random()
    spare = radius * Math.sin(angle)
    return radius * Math.cos(angle)
  }
}
