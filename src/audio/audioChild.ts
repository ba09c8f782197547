import { type ChildProcessWithoutNullStreams, spawn } from 'node:child_process'
import { tied } from '../devices/child.js'

/** Starts a child process with pipes on its three standard streams. */
export type SpawnChild = (
  command: string,
  childArguments: readonly string[],
) => ChildProcessWithoutNullStreams

/**
 * Starts the program so that it dies with the thread that started it, also when that thread is killed: what is still
 * in the pipe is then not played.
 * @param env what the child sees; messages are asked for in English, because alsaReport.ts reads them
 */
export function spawnTied(env: NodeJS.ProcessEnv): SpawnChild {
  return (command, childArguments) => {
    const [first, ...rest] = tied([command, ...childArguments], 'KILL', env)
    // Its own session: an interrupt or a hang-up of the terminal is meant for us, who still have the call sign to send.
    return spawn(first!, rest, { stdio: 'pipe', env: { ...env, LC_ALL: 'C' }, detached: true })
  }
}
