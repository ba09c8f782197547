/** What the process that runs tests tells its host, and is told. */
export type Word =
  /** each test that can be run here, with the places that it takes, and the time of the processor */
  | {
      readonly word: 'tried'
      readonly coverage: readonly BundleCoverage[]
      readonly failed: readonly string[]
    }
  /** it may take so much time of the processor; before each test, as one that never ends tells nothing more */
  | { readonly word: 'begins'; readonly mutant: string; readonly cpuMsMax: number }
  | { readonly word: 'ended'; readonly mutant: string; readonly status: Status }
  | { readonly word: 'done' }

export type Status = 'Killed' | 'Survived' | 'NoCoverage' | 'Timeout'

export interface BundleCoverage {
  /** places that loading takes: these need a script that is loaded anew */
  readonly atLoad: readonly string[]
  /** by the test's number */
  readonly tests: readonly TestCoverage[]
}

export interface TestCoverage {
  /** it can be run here */
  readonly passes: boolean
  readonly mutants: readonly string[]
  readonly cpuMs: number
}

/** A test that a mutant is tried by. */
export interface Step {
  readonly bundle: number
  readonly number: number
  readonly cpuMs: number
  /** the script is loaded with the mutant on */
  readonly isAtLoad: boolean
}

export interface Order {
  /** scripts of test files */
  readonly bundles: readonly string[]
  /** undefined: all tests are run once, and what they take is told */
  readonly plans:
    | readonly { readonly mutant: string; readonly steps: readonly Step[] }[]
    | undefined
}
