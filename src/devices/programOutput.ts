import { execFile } from 'node:child_process'
import { errorText } from '../runtime/errorText.js'
import { tied } from './child.js'

export interface ProgramLimits {
  readonly timeLimitMs: number
  /** of its standard output */
  readonly octetsMax: number
  /** where it runs; here, unless given */
  readonly folder?: string | undefined
  /** what it sees, with the PATH in which it is looked for; ours, unless given */
  readonly env?: NodeJS.ProcessEnv | undefined
}

/**
 * Runs a program to its end, never through a shell; it ends with us.
 * @param words the program and its arguments
 * @returns its standard output
 * @throws Error, in words: it is not there, took too long, ended with another status than 0, or wrote too much
 */
export function programOutput(
  words: readonly string[],
  { timeLimitMs, octetsMax, folder, env }: ProgramLimits,
): Promise<string> {
  const [program = '', ...parameters] = tied(words, 'KILL', env)
  const limits = { timeout: timeLimitMs, maxBuffer: octetsMax, cwd: folder, env }
  return new Promise((resolve, reject) => {
    execFile(program, parameters, { ...limits, killSignal: 'SIGKILL' }, (error, output) => {
      if (error === null) return resolve(output)
      reject(new Error(describe(error, limits), { cause: error }))
    })
  })
}

function describe(
  error: Error & { code?: unknown; killed?: boolean | undefined },
  { timeout, maxBuffer }: { readonly timeout: number; readonly maxBuffer: number },
): string {
  if (error.code === 'ERR_CHILD_PROCESS_STDIO_MAXBUFFER')
    return `wrote more than ${maxBuffer} octets`
  if (error.killed === true) return `took longer than ${timeout / 1000} s`
  return typeof error.code === 'number' ? `ended with status ${error.code}` : errorText(error)
}
