import { openSync, readSync } from 'node:fs'

let stat: number | undefined
const text = Buffer.alloc(64)

/**
 * CPU time of the main thread so far, ms, to a tick of the scheduler: that of the process has the threads in it that collect
 * and compile beside it, and hold nobody up (Linux).
 */
export function mainThreadMs(): number {
  stat ??= openSync(`/proc/self/task/${process.pid}/schedstat`, 'r')
  const length = readSync(stat, text, 0, text.length, 0)
  return Number(text.toString('latin1', 0, length).split(' ')[0]) / 1e6
}
