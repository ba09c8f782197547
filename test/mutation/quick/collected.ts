// Stands in for vitest where tests run by thousands in one process: collects them, with its own expect().
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { root } from '../../tidy/sources.js'

type Run = () => unknown

interface Scope {
  readonly outer: Scope | undefined
  readonly hooks: Record<'beforeAll' | 'beforeEach' | 'afterEach' | 'afterAll', Run[]>
  begun: boolean
}

/** A test with the groups around it. */
export interface CollectedTest {
  readonly name: string
  readonly run: Run
  readonly scope: Scope
}

let tests: CollectedTest[] = []
let scope: Scope

const newScope = (outer?: Scope): Scope => ({
  ...{ outer, begun: false },
  hooks: { beforeAll: [], beforeEach: [], afterEach: [], afterAll: [] },
})

/** The tests that a script names when it is run. */
export function collect(script: () => void): readonly CollectedTest[] {
  tests = []
  scope = newScope()
  script()
  return tests
}

/** Options or a time-out may stand before or behind what is run. */
const runIn = (values: readonly unknown[]): ((...row: unknown[]) => unknown) =>
  values.find((value) => typeof value === 'function') as (...row: unknown[]) => unknown

const spread = (run: (...row: unknown[]) => unknown, row: unknown): unknown =>
  Array.isArray(row) ? run(...(row as unknown[])) : run(row)

const it = (name: string, ...values: unknown[]): void => {
  tests.push({ name, scope, run: () => runIn(values)() })
}
const skipped = Object.assign(() => {}, { each: () => () => {} })
Object.assign(it, {
  each:
    (rows: readonly unknown[]) =>
    (name: string, ...values: unknown[]) => {
      for (const row of rows) tests.push({ name, scope, run: () => spread(runIn(values), row) })
    },
  skip: skipped,
  todo: skipped,
  skipIf: (no: boolean) => (no ? skipped : it),
  runIf: (yes: boolean) => (yes ? it : skipped),
})

const describe = (_name: string, ...values: unknown[]): void => {
  const outer = scope
  scope = newScope(outer)
  runIn(values)()
  scope = outer
}
Object.assign(describe, {
  each:
    (rows: readonly unknown[]) =>
    (name: string, ...values: unknown[]) => {
      for (const row of rows) describe(name, () => spread(runIn(values), row))
    },
  skip: skipped,
  skipIf: (no: boolean) => (no ? skipped : describe),
  runIf: (yes: boolean) => (yes ? describe : skipped),
})

const hook = (kind: keyof Scope['hooks']) => (run: Run) => void scope.hooks[kind].push(run)

/** Puts it where the scripts look for it (bundles.ts). */
export async function provideVitest(): Promise<void> {
  const vitest = createRequire(createRequire(join(root, 'package.json')).resolve('vitest'))
  const load = async (name: string): Promise<Record<string, never>> =>
    import(pathToFileURL(vitest.resolve(name)).href)
  const chai = (await load('chai')) as unknown as {
    use(plugin: unknown): void
    expect: (value: unknown, message?: string) => unknown
  }
  const parts = await load('@vitest/expect')
  const expect = (value: unknown, message?: string): unknown => chai.expect(value, message)
  const [name, matchers] = [parts.GLOBAL_EXPECT, parts.ASYMMETRIC_MATCHERS_OBJECT]
  Object.defineProperty(globalThis, name!, { value: expect, writable: true, configurable: true })
  for (const plugin of ['JestExtend', 'JestChaiExpect', 'JestAsymmetricMatchers'])
    chai.use(parts[plugin])
  Object.assign(expect, chai.expect)
  Object.assign(expect, (globalThis as Record<string, unknown>)[matchers as never])
  ;(parts.setState as unknown as (state: unknown, of: unknown) => void)(
    { assertionCalls: 0, isExpectingAssertions: false, environment: 'node', testPath: '' },
    expect,
  )
  const hooks = Object.fromEntries(
    (['beforeAll', 'beforeEach', 'afterEach', 'afterAll'] as const).map((kind) => [
      kind,
      hook(kind),
    ]),
  )
  const vitestApi = { it, test: it, describe, expect, vi: {}, ...hooks }
  Object.assign(globalThis, { collectedVitest: vitestApi })
}

const outwards = (one: Scope | undefined): Scope[] =>
  one === undefined ? [] : [one, ...outwards(one.outer)]

/** @throws what fails in it or in the hooks around it */
export async function runTest(test: CollectedTest): Promise<void> {
  const inner = outwards(test.scope)
  const outer = inner.toReversed()
  try {
    for (const one of outer) {
      if (one.begun) continue
      one.begun = true
      for (const run of one.hooks.beforeAll) await run()
    }
    for (const one of outer) for (const run of one.hooks.beforeEach) await run()
    await test.run()
  } finally {
    for (const one of inner) for (const run of one.hooks.afterEach) await run()
  }
}
