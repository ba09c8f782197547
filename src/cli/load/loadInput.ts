import { resolve } from 'node:path'
import type { Config } from '../../config/schema.js'
import type { Clock } from '../../runtime/clock.js'
import type { RepeaterField } from '../../services/repeaters/headers.js'
import { UsageError } from '../shared/usageError.js'

/** What has been read and found right, before anything is replaced. */
export interface Prepared {
  /** what a person should see before saying yes */
  readonly lines: readonly string[]
  readonly rightCount: number
  readonly rejectedCount: number
  /** the file or folder that is replaced, and what is in it now, in words */
  readonly target: string
  readonly now: string
  replace(): Promise<void>
}

export interface LoadInput {
  /** the file or folder to load */
  readonly source: string
  readonly config: Config
  /** of the configuration file */
  readonly folder: string
  readonly map: Readonly<Partial<Record<RepeaterField, string | number>>>
  readonly nowWallMs: number
  readonly clock: Clock
  /** file that a service's thread begins with; ours when left out */
  readonly threadEntry?: URL
}

/** The place of some data, by its key of the configuration. @throws UsageError when the configuration has none */
export function targetOf(input: LoadInput, key: string, value: string): string {
  if (value !== '') return resolve(input.folder, value)
  throw new UsageError({
    code: 'load-target',
    subject: `configuration: ${key}`,
    got: 'nothing',
    expected: 'the place where this data belongs',
    advice: `set ${key} first`,
  })
}
