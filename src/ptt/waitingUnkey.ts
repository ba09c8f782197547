import { type ChildProcessByStdio, spawn } from 'node:child_process'
import type { Readable, Writable } from 'node:stream'
import { lineSplitter } from './helperProtocol.js'

/**
 * The unkey program, started ahead: a shell that waits on a pipe, and runs the program whenever a line comes, or when the pipe
 * closes because whoever was to write has died. Starting a program from Node takes some ten milliseconds of a processor;
 * a shell that waits has little left to do.
 */
export interface WaitingUnkey {
  /** Runs the program. @returns how it ended, in words ('status 0'); undefined where the shell itself is gone */
  run(): Promise<string | undefined>
  /** Ends it and what it runs, at once. */
  kill(): void
  /** Ends it without running anything; settles when it has. */
  close(): Promise<void>
}

/**
 * $0 is its priority among the machine's sessions: one of its own begins with the ordinary one. Signals are taken note of,
 * not ignored, so that the program starts with the usual ones. After the pipe has closed it goes on until the program has
 * worked, and runs it once more: a key command that was under way when its starter died may have come after the first.
 * @see sched(7), "The autogroup feature"
 */
const script = `
trap : HUP INT TERM PIPE
{ echo "$0" > /proc/self/autogroup; } 2> /dev/null
run() { "$@" < /dev/null > /dev/null 2>&1; }
echo ready
while read -r word; do
  [ "$word" = end ] && exit 0
  run "$@"
  echo "$?"
done
exec > /dev/null
tries=0
until run "$@" || [ "$tries" -ge 100 ]; do tries=$((tries + 1)); sleep 0.1; done
sleep 0.1
run "$@"
`

/**
 * Settles when it waits, or could not be had.
 * @param nice its priority, from -20 (first) to 0; what the system does not allow is done without
 */
export async function startWaitingUnkey(
  words: readonly string[],
  nice: number,
): Promise<WaitingUnkey> {
  // A session of its own: neither the end of its starter's nor a signal to that may end it.
  const child: ChildProcessByStdio<Writable, Readable, null> = spawn(
    '/bin/sh',
    ['-c', script, String(nice), ...words],
    { stdio: ['pipe', 'pipe', 'ignore'], detached: true },
  )
  const answers: ((status: string | undefined) => void)[] = []
  let isGone = false
  child.stdin.on('error', () => {}) // its end tells
  const ended = new Promise<void>((resolve) => {
    const end = (): void => {
      isGone = true
      for (const answer of answers.splice(0)) answer(undefined)
      resolve()
    }
    child.once('error', end)
    child.once('exit', end)
  })
  const ready = new Promise<void>((resolve) => {
    const take = lineSplitter((line) => {
      if (line === 'ready') resolve()
      else answers.shift()?.(`status ${line}`)
    })
    child.stdout.on('data', take)
  })
  await Promise.race([ready, ended])
  return {
    run() {
      if (isGone) return Promise.resolve(undefined)
      return new Promise((resolve) => {
        answers.push(resolve)
        child.stdin.write('\n')
      })
    },
    kill() {
      try {
        if (!isGone && child.pid !== undefined) process.kill(-child.pid, 'SIGKILL')
      } catch {
        // it has ended meanwhile
      }
    },
    async close() {
      child.stdin.end('end\n')
      await ended
    },
  }
}
