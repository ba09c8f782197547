import { createInterface } from 'node:readline'

/** Lines that somebody types. */
export interface TypedAnswers {
  /**
   * @param fresh what was typed before it was asked does not count: nothing is keyed by a line that was meant for another question
   * @returns undefined when no more come
   */
  next(fresh: boolean): Promise<string | undefined>
  close(): void
}

export function typedAnswers(input: NodeJS.ReadableStream): TypedAnswers {
  const reader = createInterface({ input, terminal: false })
  const early: string[] = []
  let isClosed = false
  let waiting: ((line: string | undefined) => void) | undefined
  const give = (line: string | undefined): boolean => {
    const resolve = waiting
    waiting = undefined
    resolve?.(line)
    return resolve !== undefined
  }
  reader.on('line', (line) => {
    if (!give(line)) early.push(line)
  })
  reader.on('close', () => {
    isClosed = true
    give(undefined)
  })
  return {
    next(fresh) {
      if (fresh) early.length = 0
      const line = early.shift()
      if (line !== undefined || isClosed) return Promise.resolve(line)
      return new Promise((resolve) => {
        waiting = resolve
      })
    },
    close: () => reader.close(),
  }
}
