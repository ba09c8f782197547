import { reactiveNearFieldM } from './fields.js'
import { limitsFromMHz, limitsToMHz } from './limits.js'

/**
 * Nearest distance at which a single fixed source of this effective radiated power, averaged over time, needs no evaluation,
 * in m; never inside lambda / (2 pi), where the table does not apply.
 * @returns undefined outside 0.3 MHz to 100 GHz
 * @see 47 CFR 1.1307(b)(3)(i)(C), Table 1, in force since 2021; from memory, its figures agree with 1.1310 at a
 *   reflection factor of 4 (checked in test/published/exposure.test.ts)
 */
export function exemptFromM(frequencyMHz: number, erpW: number): number | undefined {
  if (!(frequencyMHz >= limitsFromMHz && frequencyMHz <= limitsToMHz)) return undefined
  return Math.max(
    Math.sqrt(erpW / wattsPerSquareMetre(frequencyMHz)),
    reactiveNearFieldM(frequencyMHz),
  )
}

/** A source of at most this available power is exempt at any distance. @see 47 CFR 1.1307(b)(3)(i)(A), from memory */
export const alwaysExemptW = 0.001

/** The table's factor on R^2. */
function wattsPerSquareMetre(f: number): number {
  if (f <= 1.34) return 1920
  if (f <= 30) return 3450 / f ** 2
  if (f <= 300) return 3.83
  if (f <= 1500) return 0.0128 * f
  return 19.2
}
