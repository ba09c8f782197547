import type { ChildProcess } from 'node:child_process'
import { accessSync, constants, statSync } from 'node:fs'
import { delimiter, join } from 'node:path'
import { errorText } from '../runtime/errorText.js'

/**
 * The file of a program, as the system would find it; undefined where there is none that may be run.
 * @param env whose PATH is searched
 */
export function findProgram(
  program: string,
  env: NodeJS.ProcessEnv = process.env,
): string | undefined {
  const folders = (env.PATH ?? '').split(delimiter).filter((folder) => folder !== '')
  const places = program.includes('/') ? [program] : folders.map((folder) => join(folder, program))
  return places.find((place) => {
    try {
      accessSync(place, constants.X_OK)
      return statSync(place).isFile()
    } catch {
      return false
    }
  })
}

/**
 * Words that start a program so that it gets a signal when the thread that started it ends, in whatever way. setpriv of
 * util-linux arranges it. Where that is not installed the program lives on; a program that is not there itself is left to
 * fail by its own name.
 */
export function tied(
  words: readonly string[],
  signal: 'TERM' | 'KILL',
  env: NodeJS.ProcessEnv = process.env,
): readonly string[] {
  const canTie = findProgram('setpriv', env) !== undefined
  const isThere = findProgram(words[0] ?? '', env) !== undefined
  return canTie && isThere ? ['setpriv', '--pdeathsig', signal, '--', ...words] : words
}

/** How a child process ended: by itself, by a signal, or never begun. */
export interface ChildEnd {
  readonly exitCode: number | null
  readonly signal: NodeJS.Signals | null
  /** it could not be started at all */
  readonly startError?: Error
}

/** Settles once, when the child has ended and its streams are read out. */
export function childEnd(child: ChildProcess): Promise<ChildEnd> {
  return new Promise((resolve) => {
    child.once('error', (startError) => resolve({ exitCode: null, signal: null, startError }))
    child.once('close', (exitCode, signal) => resolve({ exitCode, signal }))
    // A child that died makes writing to it fail; its end says why.
    child.stdin?.on('error', () => {})
  })
}

/** 'status 0', 'signal SIGTERM', 'no such program' */
export const describeEnd = ({ exitCode, signal, startError }: ChildEnd): string =>
  startError === undefined
    ? exitCode === null
      ? `signal ${signal}`
      : `status ${exitCode}`
    : errorText(startError)
