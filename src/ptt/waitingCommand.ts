import { type ChildProcessByStdio, spawn } from 'node:child_process'
import type { Readable, Writable } from 'node:stream'
import { tied } from '../devices/child.js'
import { lineSplitter } from './helperProtocol.js'

/**
 * A program that can be run at once: a shell that waits on a pipe runs it whenever a line comes. Starting a program from Node takes
 * some ten milliseconds of a processor, and memory that a small process gives back late; a shell that waits has little left to do.
 */
export interface WaitingCommand {
  /** Runs the program. @returns how it ended, in words ('status 0'); undefined where the shell itself is gone */
  run(): Promise<string | undefined>
  /** Ends it and what it runs, at once. */
  kill(): void
  /** settles when it and what it runs have ended, in whatever way */
  readonly ended: Promise<void>
  /** Ends it without running anything; settles when it has. */
  close(): Promise<void>
}

export interface WaitingCommandOptions {
  /** its priority, from -20 (first) to 0; what the system does not allow is done without */
  readonly nice: number
  /** what it does when its starter dies: run the program (to unkey), or die as well, with what it runs (to key) */
  readonly atStartersEnd: 'run' | 'die'
}

/**
 * $0 is its priority among the machine's sessions: one of its own begins with the ordinary one. Signals are taken note of,
 * not ignored, so that the program starts with the usual ones. The program holds the shell's own output, as its third: that is
 * closed when both have ended.
 * @see sched(7), "The autogroup feature"
 */
const waiting = `
trap : HUP INT TERM PIPE
{ echo "$0" > /proc/self/autogroup; } 2> /dev/null
run() { "$@" 3>&1 < /dev/null > /dev/null 2>&1; }
echo ready
while read -r word; do
  [ "$word" = end ] && exit 0
  run "$@"
  echo "$?"
done
`

/**
 * After the pipe has closed it goes on until the program has worked, and runs it once more: a key command that was under way when
 * its starter died may have come after the first.
 */
const runAtEnd = `
exec > /dev/null
tries=0
until run "$@" || [ "$tries" -ge 100 ]; do tries=$((tries + 1)); sleep 0.1; done
sleep 0.1
run "$@"
`

/** Settles when it waits, or could not be had. */
export async function startWaitingCommand(
  words: readonly string[],
  { nice, atStartersEnd }: WaitingCommandOptions,
): Promise<WaitingCommand> {
  const script = atStartersEnd === 'run' ? waiting + runAtEnd : waiting
  const shell = ['/bin/sh', '-c', script, String(nice), ...words]
  const [program = '', ...parameters] = atStartersEnd === 'run' ? shell : tied(shell, 'KILL')
  // A session of its own: neither the end of its starter's nor a signal to that may end it.
  const child: ChildProcessByStdio<Writable, Readable, null> = spawn(program, parameters, {
    stdio: ['pipe', 'pipe', 'ignore'],
    detached: true,
  })
  const answers: ((status: string | undefined) => void)[] = []
  let isGone = false
  child.stdin.on('error', () => {}) // its end tells
  const gone = new Promise<void>((resolve) => {
    const end = (): void => {
      isGone = true
      for (const answer of answers.splice(0)) answer(undefined)
      resolve()
    }
    child.once('error', end)
    child.once('exit', end)
  })
  let hasEnded = false
  const ended = new Promise<void>((resolve) => {
    const end = (): void => {
      hasEnded = true
      resolve()
    }
    child.once('error', end)
    child.once('close', end)
  })
  const ready = new Promise<void>((resolve) => {
    const take = lineSplitter((line) => {
      if (line === 'ready') resolve()
      else answers.shift()?.(`status ${line}`)
    })
    child.stdout.on('data', take)
  })
  await Promise.race([ready, gone])
  return {
    ended,
    run() {
      if (isGone) return Promise.resolve(undefined)
      return new Promise((resolve) => {
        answers.push(resolve)
        child.stdin.write('\n')
      })
    },
    kill() {
      try {
        // What it runs may have outlived it.
        if (!hasEnded && child.pid !== undefined) process.kill(-child.pid, 'SIGKILL')
      } catch {
        // it has ended meanwhile
      }
    },
    async close() {
      child.stdin.end('end\n')
      await gone
    },
  }
}
