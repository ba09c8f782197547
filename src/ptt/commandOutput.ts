import { tied } from '../devices/child.js'
import type { Clock } from '../runtime/clock.js'
import { commandFailure, type RunningCommand, startCommand } from './childCommand.js'
import type { PttOutput } from './pttOutput.js'
import { startWaitingUnkey, type WaitingUnkey } from './waitingUnkey.js'

/** A command that has not ended by then is killed: unkeying must be over within the dead-man's 250 ms. */
const commandMsMax = 200

export interface CommandOutputOptions {
  readonly keyCommand: readonly string[]
  readonly unkeyCommand: readonly string[]
}

/**
 * Keys and unkeys by running a program, with its arguments and never through a shell; status 0 means done.
 * The unkey command is run before anything else, and again whenever its success is in doubt. Once prepared, it waits to be
 * run, and runs by itself when this process dies.
 * @param nice the priority of this process, which the waiting command takes as well
 * @throws Failure 'ptt-command' when the unkey command fails at the start
 */
export async function openCommandOutput(
  options: CommandOutputOptions,
  clock: Clock,
  nice = 0,
): Promise<PttOutput> {
  const { keyCommand, unkeyCommand } = options
  const unkeyer = createUnkeyer(unkeyCommand, clock, nice)
  let keying: RunningCommand | undefined

  const unkey = async (): Promise<void> => {
    const pending = keying
    pending?.kill('SIGKILL')
    await unkeyer.unkey()
    if (pending === undefined) return
    // A key command that was still running may have keyed before it died.
    await pending.ended
    await unkeyer.unkey()
  }
  await unkey()
  return {
    name: `command ${keyCommand.join(' ')}`,
    prepare: () => unkeyer.prepare(),
    async key() {
      try {
        keying = startCommand(tied(keyCommand, 'KILL'))
        await untilEnd(keyCommand, keying, clock)
      } finally {
        keying = undefined
      }
    },
    unkey,
    async close() {
      await unkey().finally(() => unkeyer.close())
    },
  }
}

interface Unkeyer {
  prepare(): Promise<void>
  unkey(): Promise<void>
  close(): Promise<void>
}

/** Runs the unkey command: by the shell that waits for it where there is one, from here otherwise. */
function createUnkeyer(words: readonly string[], clock: Clock, nice: number): Unkeyer {
  let waiting: WaitingUnkey | undefined
  let preparing: Promise<void> | undefined
  let closed = false

  const prepare = (): Promise<void> => {
    preparing ??= startWaitingUnkey(words, nice).then((shell) => {
      waiting = shell
      preparing = undefined
    })
    return preparing
  }
  /** @returns false where the shell is gone */
  const byShell = async (shell: WaitingUnkey): Promise<boolean> => {
    const status = await inTime(words, shell.run(), () => shell.kill(), clock)
    if (status !== undefined) checkStatus(words, status)
    else if (!closed) void prepare()
    return status !== undefined
  }
  return {
    prepare,
    async unkey() {
      if (waiting === undefined || !(await byShell(waiting)))
        await untilEnd(words, startCommand(words), clock)
    },
    async close() {
      closed = true
      await preparing
      await waiting?.close()
    },
  }
}

async function untilEnd(
  words: readonly string[],
  running: RunningCommand,
  clock: Clock,
): Promise<void> {
  const { status } = await inTime(words, running.ended, () => running.kill('SIGKILL'), clock)
  checkStatus(words, status)
}

/** @throws Failure when it takes too long, and is killed */
async function inTime<Result>(
  words: readonly string[],
  ended: Promise<Result>,
  kill: () => void,
  clock: Clock,
): Promise<Result> {
  let late = false
  const cancel = clock.at(clock.monotonicMs() + commandMsMax, () => {
    late = true
    kill()
  })
  const result = await ended
  cancel()
  if (late) throw commandFailure(words, `no end within ${commandMsMax} ms`)
  return result
}

function checkStatus(words: readonly string[], status: string): void {
  if (status !== 'status 0') throw commandFailure(words, status)
}
