/**
 * Solves matrix x = right, by Cholesky's way, for a symmetric positive definite matrix such as normal equations have.
 * @param matrix n rows of n; only what lies on and above its diagonal is read
 * @returns x; where the equations do not tell an unknown, something small or large, but no NaN
 */
export function solveSymmetric(matrix: Float64Array, right: Float64Array): Float64Array {
  const n = right.length
  const lower = new Float64Array(n * n)
  const solution = new Float64Array(n)
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = matrix[j * n + i]!
      for (let k = 0; k < j; k++) sum -= lower[i * n + k]! * lower[j * n + k]!
      lower[i * n + j] = i === j ? Math.sqrt(Math.max(sum, 1e-12)) : sum / lower[j * n + j]!
    }
  for (let i = 0; i < n; i++) {
    let sum = right[i]!
    for (let k = 0; k < i; k++) sum -= lower[i * n + k]! * solution[k]!
    solution[i] = sum / lower[i * n + i]!
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = solution[i]!
    for (let k = i + 1; k < n; k++) sum -= lower[k * n + i]! * solution[k]!
    solution[i] = sum / lower[i * n + i]!
  }
  return solution
}
