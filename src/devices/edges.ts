import type { Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { LogOutput } from './steadyOutput.js'

/** What a command touches of the outside world; main.ts builds the real one, tests build their own. */
export interface Edges {
  readonly clock: Clock
  readonly random: Random
  readonly stdin: NodeJS.ReadableStream & { readonly isTTY?: boolean }
  readonly stdout: NodeJS.WritableStream & { readonly isTTY?: boolean; readonly columns?: number }
  readonly stderr: NodeJS.WritableStream & { readonly isTTY?: boolean; readonly columns?: number }
  /** where a running node's log goes: standard error, in a way that no disk and no reader can stop */
  readonly log: LogOutput
  /** standard error is the system's journal, which reads priorities */
  readonly logIsJournal: boolean
  readonly env: NodeJS.ProcessEnv
  /** what the process exits with; 0 unless a command sets it */
  setExitCode(code: 0 | 1 | 2): void
  /** calls `caught` with whatever was thrown and caught by nobody, from now on, instead of ending the process */
  onUncaught(caught: (error: unknown) => void): void
  /** calls `reload` at each SIGHUP that the service manager sends */
  onReload(reload: () => void): void
  /** calls `stop` once at the first SIGINT or SIGTERM, or SIGHUP of a session that closes */
  onStop(stop: () => void): void
}
