import { basename } from 'node:path'
import type { Bundle } from './bundles.js'
import type { Mutant } from './instrumented.js'
import type { BundleCoverage, Step } from './messages.js'

/** So much is tried for one mutant, and the test that goes beyond it: a score is rather too low. */
const cpuMsMax = 20_000

/**
 * By which tests a mutant is tried, the quick ones first. What is set while a file is loaded is taken by every test of every file
 * that loads it: of these, those first that are about the file.
 */
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
  for (const [id, plan] of plans) plans.set(id, firstOf(plan.sort((a, b) => a.cpuMs - b.cpuMs)))
  for (const { id, fileName } of mutants) {
    const loading = coverage.flatMap((_, bundle) => (atLoad[bundle]!.has(id) ? [bundle] : []))
    const isAbout = (bundle: number): boolean =>
      basename(bundles[bundle]!.test).startsWith(basename(fileName, '.ts'))
    const cost = (bundle: number): number =>
      coverage[bundle]!.tests.reduce((sum, { cpuMs }) => sum + cpuMs, 0)
    loading.sort((a, b) => Number(isAbout(b)) - Number(isAbout(a)) || cost(a) - cost(b))
    const steps = loading.flatMap((bundle) =>
      [...coverage[bundle]!.tests.entries()]
        .filter(([, { passes }]) => passes)
        .map(([number, { cpuMs }]) => ({ bundle, number, cpuMs, isAtLoad: true })),
    )
    plans.get(id)!.push(...firstOf(steps))
  }
  return plans
}

function firstOf(steps: readonly Step[]): Step[] {
  let left = cpuMsMax
  return steps.filter(({ cpuMs }) => {
    const isTaken = left > 0
    left -= cpuMs
    return isTaken
  })
}
