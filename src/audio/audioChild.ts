import { type ChildProcessWithoutNullStreams, spawn } from 'node:child_process'
import { existsSync } from 'node:fs'
import { delimiter, join } from 'node:path'

/** Starts a child process with pipes on its three standard streams. */
export type SpawnChild = (
  command: string,
  childArguments: readonly string[],
) => ChildProcessWithoutNullStreams

/**
 * Starts the program so that it dies with the thread that started it, also when that thread is killed: what is still
 * in the pipe is then not played. setpriv of util-linux arranges it, where it is installed.
 * @param env what the child sees; messages are asked for in English, because alsaReport.ts reads them
 */
export function spawnTied(env: NodeJS.ProcessEnv): SpawnChild {
  const tie = isInstalled('setpriv', env) ? ['setpriv', '--pdeathsig', 'KILL', '--'] : []
  return (command, childArguments) => {
    const [first, ...rest] = [...tie, command, ...childArguments]
    // Its own session: an interrupt or a hang-up of the terminal is meant for us, who still have the call sign to send.
    return spawn(first!, rest, { stdio: 'pipe', env: { ...env, LC_ALL: 'C' }, detached: true })
  }
}

function isInstalled(command: string, env: NodeJS.ProcessEnv): boolean {
  const folders = (env.PATH ?? '').split(delimiter).filter((folder) => folder !== '')
  return folders.some((folder) => existsSync(join(folder, command)))
}

/** How a child ended: by itself, by a signal, or never begun. */
export interface ChildEnd {
  readonly exitCode: number | null
  readonly signal: NodeJS.Signals | null
  /** it could not be started at all */
  readonly startError?: Error
}

/** Settles once, when the child has ended and its streams are read out. */
export function childEnd(child: ChildProcessWithoutNullStreams): Promise<ChildEnd> {
  return new Promise((resolve) => {
    child.once('error', (startError) => resolve({ exitCode: null, signal: null, startError }))
    child.once('close', (exitCode, signal) => resolve({ exitCode, signal }))
    // A child that died makes writing to it fail; its end says why.
    child.stdin.on('error', () => {})
  })
}
