import { execFile } from 'node:child_process'
import { promisify } from 'node:util'
import { compileMutant } from './mutantProgram.js'
import type { Mutant } from './mutants.js'

export interface Finding {
  readonly seed: number
  /** into that seed's day */
  readonly hours: number
  readonly promises: readonly string[]
  readonly detail: string
}

export interface SearchOptions {
  readonly fromSeed: number
  readonly days: number
  readonly hours: number
}

/** Lives through days with the mutant. @returns the first promise that the oracle finds broken; undefined when it finds none */
export async function findMutant(
  mutant: Mutant,
  options: SearchOptions,
): Promise<Finding | undefined> {
  const file = await compileMutant(mutant)
  const { fromSeed, days, hours } = options
  const { stdout } = await promisify(execFile)(process.execPath, [
    file,
    ...[fromSeed, days, hours].map(String),
  ])
  return stdout.trim() === '' ? undefined : (JSON.parse(stdout) as Finding)
}
