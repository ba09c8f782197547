import { basename } from 'node:path'
import type { Bundle } from './bundles.js'
import type { Mutant } from './instrumented.js'
import type { BundleCoverage, Step } from './messages.js'

/**
 * What is set while a file is loaded is taken by every test of every file that loads it: of these only so much is tried, those
 * about the file first. So a score is rather too low.
 */
const atLoadCpuMsMax = 20_000

/** By which tests a mutant is tried, the quick ones first. */
export function plansOf(
  mutants: readonly Mutant[],
  bundles: readonly Bundle[],
  coverage: readonly BundleCoverage[],
): Map<string, Step[]> {
  const plans = new Map<string, Step[]>(mutants.map(({ id }) => [id, []]))
  const atLoad = coverage.map((one) => new Set(one.atLoad))
  for (const [bundle, { tests }] of coverage.entries())
    for (const [number, test] of tests.entries())
      for (const mutant of test.passes ? test.mutants : [])
        if (!atLoad[bundle]!.has(mutant))
          plans.get(mutant)?.push({ bundle, number, cpuMs: test.cpuMs, isAtLoad: false })
  for (const plan of plans.values()) plan.sort((a, b) => a.cpuMs - b.cpuMs)
  for (const { id, fileName } of mutants) {
    const loading = coverage.flatMap((_, bundle) => (atLoad[bundle]!.has(id) ? [bundle] : []))
    const isAbout = (bundle: number): boolean =>
      basename(bundles[bundle]!.test).startsWith(basename(fileName, '.ts'))
    const cost = (bundle: number): number =>
      coverage[bundle]!.tests.reduce((sum, { cpuMs }) => sum + cpuMs, 0)
    loading.sort((a, b) => Number(isAbout(b)) - Number(isAbout(a)) || cost(a) - cost(b))
    let left = atLoadCpuMsMax
    for (const bundle of loading) {
      for (const [number, { passes, cpuMs }] of coverage[bundle]!.tests.entries()) {
        if (!passes || left < 0) continue
        left -= cpuMs
        plans.get(id)!.push({ bundle, number, cpuMs, isAtLoad: true })
      }
    }
  }
  return plans
}
