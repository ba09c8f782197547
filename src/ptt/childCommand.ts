import { type ChildProcess, spawn } from 'node:child_process'
import { childEnd, describeEnd } from '../devices/child.js'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

/** A program that was started. */
export interface RunningCommand {
  /** settles with how it ended, in words ('status 0', 'signal SIGTERM'), and its standard output */
  readonly ended: Promise<{ readonly status: string; readonly output: string }>
  /** settles once it runs; rejects with a Failure when it cannot be started */
  readonly started: Promise<void>
  kill(signal?: 'SIGTERM' | 'SIGKILL'): void
}

/**
 * Starts a program with its arguments, never through a shell.
 * @param output 'ignore' where nobody reads it: a pipe takes memory that a small process gives back late
 */
export function startCommand(
  words: readonly string[],
  output: 'pipe' | 'ignore' = 'pipe',
): RunningCommand {
  const [program = '', ...parameters] = words
  const child: ChildProcess = spawn(program, parameters, { stdio: ['ignore', output, 'ignore'] })
  let written = ''
  child.stdout?.on('data', (chunk: Buffer) => {
    if (written.length < outputMax) written += chunk.toString('utf8')
  })
  const started = new Promise<void>((resolve, reject) => {
    child.once('spawn', resolve)
    child.once('error', (cause) => reject(commandFailure(words, errorText(cause), cause)))
  })
  const ended = childEnd(child).then((end) => ({ status: describeEnd(end), output: written }))
  started.catch(() => {})
  return { started, ended, kill: (signal = 'SIGTERM') => void child.kill(signal) }
}

/**
 * Runs a program to its end.
 * @returns how it ended, in words, and what it wrote to standard output
 */
export async function runCommand(
  words: readonly string[],
  clock: Clock,
  timeLimitMs: number,
): Promise<{ status: string; output: string }> {
  const running = startCommand(words)
  let late = false
  const cancel = clock.at(clock.monotonicMs() + timeLimitMs, () => {
    late = true
    running.kill('SIGKILL')
  })
  const { status, output } = await running.ended
  cancel()
  return { status: late ? `no end within ${timeLimitMs} ms` : status, output }
}

export function commandFailure(words: readonly string[], got: string, cause?: unknown): Failure {
  return new Failure({
    code: 'ptt-command',
    subject: words.join(' '),
    got,
    expected: 'a program that can be started and ends with status 0',
    advice: 'try it by hand as the same user',
    cause,
  })
}

/** Nothing that is run here has more to say. */
const outputMax = 4096
