import { type ChildProcess, fork } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import type { DayResult } from './day.js'
import type { DayLeft } from './dayWorker.js'
import { Counts } from './tally.js'

/** Lives through the day of a seed. */
export type LiveDay = (seed: number) => Promise<TimedDay>

export interface TimedDay {
  readonly day: DayResult
  /** of all threads of the process that lived it */
  readonly cpuS: number
}

/** @returns lives through a day in one of so many processes, waiting for one that is free; call `end` when all are over */
export function dayWorkers(count: number): { readonly live: LiveDay; end(): void } {
  const entry = fileURLToPath(new URL('./dayWorker.ts', import.meta.url))
  // What loads TypeScript here loads it there, too.
  const start = (): ChildProcess => fork(entry, [], { execArgv: process.execArgv })
  const workers = Array.from({ length: count }, start)
  const free = [...workers]
  const waiting: ((worker: ChildProcess) => void)[] = []

  const taken = async (): Promise<ChildProcess> =>
    free.pop() ?? new Promise((resolve) => waiting.push(resolve))
  const giveBack = (worker: ChildProcess): void => {
    const next = waiting.shift()
    if (next === undefined) free.push(worker)
    else next(worker)
  }

  return {
    async live(seed) {
      const worker = await taken()
      const left = await new Promise<DayLeft>((resolve, reject) => {
        const gone = (): void => reject(new Error(`seed ${seed}: its process ended`))
        worker.once('exit', gone)
        worker.once('message', (message) => {
          worker.off('exit', gone)
          resolve(message as DayLeft)
        })
        worker.send(seed)
      })
      giveBack(worker)
      const { day, faults, recoveries, cpuS } = left
      return {
        day: { ...day, faults: Counts.from(faults), recoveries: Counts.from(recoveries) },
        cpuS,
      }
    },
    end() {
      for (const worker of workers) worker.disconnect()
    },
  }
}
