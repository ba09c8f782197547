import type { Clock } from '../runtime/clock.js'
import { commandFailure, type RunningCommand, startCommand } from './childCommand.js'
import type { PttOutput } from './pttOutput.js'

/** A command that has not ended by then is killed: unkeying must be over within the dead-man's 250 ms. */
const commandMsMax = 200

/**
 * Keys and unkeys by running a program, with its arguments and never through a shell; status 0 means done.
 * The unkey command is run before anything else, and again whenever its success is in doubt.
 * @throws Failure 'ptt-command' when the unkey command fails at the start
 */
export async function openCommandOutput(
  options: { keyCommand: readonly string[]; unkeyCommand: readonly string[] },
  clock: Clock,
): Promise<PttOutput> {
  const { keyCommand, unkeyCommand } = options
  let keying: RunningCommand | undefined

  const run = async (words: readonly string[], note: (running: RunningCommand) => void) => {
    const running = startCommand(words)
    note(running)
    let late = false
    const cancel = clock.at(clock.monotonicMs() + commandMsMax, () => {
      late = true
      running.kill('SIGKILL')
    })
    const { status } = await running.ended
    cancel()
    if (late) throw commandFailure(words, `no end within ${commandMsMax} ms`)
    if (status !== 'status 0') throw commandFailure(words, status)
  }
  const unkey = async (): Promise<void> => {
    // A key command that is still running must not key after this.
    const pending = keying
    if (pending !== undefined) {
      pending.kill('SIGKILL')
      await pending.ended
    }
    await run(unkeyCommand, () => {})
  }
  await unkey()
  return {
    name: `command ${keyCommand.join(' ')}`,
    async key() {
      await run(keyCommand, (running) => {
        keying = running
      }).finally(() => {
        keying = undefined
      })
    },
    unkey,
    close: unkey,
  }
}
