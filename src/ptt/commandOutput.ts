import { findProgram, tied } from '../devices/child.js'
import type { Clock } from '../runtime/clock.js'
import { commandFailure, startCommand } from './childCommand.js'
import type { PttOutput } from './pttOutput.js'
import {
  startWaitingCommand,
  type WaitingCommand,
  type WaitingCommandOptions,
} from './waitingCommand.js'

/** A command that has not ended by then is killed: unkeying must be over within the dead-man's 250 ms. */
const commandMsMax = 200

export interface CommandOutputOptions {
  readonly keyCommand: readonly string[]
  readonly unkeyCommand: readonly string[]
}

/**
 * Keys and unkeys by running a program, with its arguments as they are: no shell reads them. Status 0 means done.
 * The unkey command is run before anything else, and again whenever its success is in doubt. Once prepared, both wait to be
 * run; the unkey command runs by itself when this process dies, and a key command that is under way dies with it.
 * @param nice the priority of this process, which the waiting commands take as well
 * @throws Failure 'ptt-command' when the unkey command fails at the start
 */
export async function openCommandOutput(
  options: CommandOutputOptions,
  clock: Clock,
  nice = 0,
): Promise<PttOutput> {
  const unkeyer = createUnkeyer(options.unkeyCommand, clock, nice)
  const keyer = createKeyer(options.keyCommand, nice)
  let keying: Running | undefined

  const unkey = async (): Promise<void> => {
    const pending = keying
    pending?.kill()
    await unkeyer.unkey()
    if (pending === undefined) return
    // A key command that was still running may have keyed before it died.
    await pending.ended
    await unkeyer.unkey()
  }
  await unkey()
  return {
    name: `command ${options.keyCommand.join(' ')}`,
    async prepare() {
      await Promise.all([unkeyer.prepare(), keyer.prepare()])
    },
    async key() {
      try {
        keying = keyer.start()
        await untilEnd(options.keyCommand, keying, clock)
      } finally {
        keying = undefined
      }
    },
    unkey,
    async close() {
      await unkey().finally(() => Promise.all([unkeyer.close(), keyer.close()]))
    },
  }
}

/** A shell that waits to run a program. */
interface Standby {
  /** undefined where none waits yet; it may be gone */
  readonly shell: WaitingCommand | undefined
  /** Once, and again when it is found to be gone. */
  prepare(): Promise<void>
  close(): Promise<void>
}

function createStandby(words: readonly string[], options: WaitingCommandOptions): Standby {
  let shell: WaitingCommand | undefined
  let preparing: Promise<void> | undefined
  let closed = false
  return {
    get shell() {
      return shell
    },
    async prepare() {
      if (closed) return
      preparing ??= startWaitingCommand(words, options)
        .then((started) => {
          shell = started
        })
        .catch(() => {}) // without one the program is started from here
        .finally(() => {
          preparing = undefined
        })
      await preparing
    },
    async close() {
      closed = true
      await preparing
      await shell?.close()
    },
  }
}

interface Running {
  readonly ended: Promise<{ readonly status: string }>
  kill(): void
}

function runFromHere(words: readonly string[]): Running {
  const { ended, kill } = startCommand(words)
  return { ended, kill: () => kill('SIGKILL') }
}

/** Runs the key command: by the shell that waits for it where there is one, from here otherwise. */
function createKeyer(words: readonly string[], nice: number) {
  const standby = createStandby(tied(words, 'KILL'), { nice, atStartersEnd: 'die' })
  const isThere = (): boolean => findProgram(words[0] ?? '') !== undefined

  const byShell = (shell: WaitingCommand): Running => {
    let isKilled = false
    let instead: Running | undefined
    const run = async (): Promise<{ readonly status: string }> => {
      const status = await shell.run()
      if (status !== undefined) return { status }
      void standby.prepare()
      await shell.ended
      if (isKilled) return { status: 'signal SIGKILL' }
      instead = runFromHere(tied(words, 'KILL'))
      return instead.ended
    }
    return {
      ended: run(),
      kill() {
        isKilled = true
        ;(instead ?? shell).kill()
      },
    }
  }
  return {
    // A program that is not there fails by its own name, which a shell does not tell.
    prepare: async () => (isThere() ? standby.prepare() : undefined),
    start: (): Running =>
      standby.shell !== undefined && isThere()
        ? byShell(standby.shell)
        : runFromHere(tied(words, 'KILL')),
    close: standby.close,
  }
}

/** Runs the unkey command: by the shell that waits for it where there is one, from here otherwise. */
function createUnkeyer(words: readonly string[], clock: Clock, nice: number) {
  const standby = createStandby(words, { nice, atStartersEnd: 'run' })
  /** @returns false where the shell is gone */
  const byShell = async (shell: WaitingCommand): Promise<boolean> => {
    const status = await inTime(words, shell.run(), () => shell.kill(), clock)
    if (status !== undefined) checkStatus(words, status)
    else void standby.prepare()
    return status !== undefined
  }
  return {
    prepare: standby.prepare,
    async unkey() {
      if (standby.shell === undefined || !(await byShell(standby.shell)))
        await untilEnd(words, runFromHere(words), clock)
    },
    close: standby.close,
  }
}

async function untilEnd(words: readonly string[], running: Running, clock: Clock): Promise<void> {
  const { status } = await inTime(words, running.ended, () => running.kill(), clock)
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
