import { write } from 'node:fs'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'

/** Takes lines of a log; whatever becomes of them, the program goes on. */
export interface LogOutput {
  /** @param line with its line end */
  write(line: string): void
  /** Settles when everything is written or lost; not later than `timeLimitMs`: a reader may never read again. */
  flush(timeLimitMs: number): Promise<void>
  /** Who is told that lines are lost, and that lines are written again. */
  listen(listener: LogOutputListener): void
  /** lines that were not written */
  readonly lostCount: number
}

export interface LogOutputListener {
  /** the first line of several was lost */
  lost(reason: string): void
  /** after so many lost lines one was written */
  back(lostCount: number, reason: string): void
}

/** As fs.write: takes as many of the octets as there is room for. */
export type WriteSome = (
  octets: Uint8Array,
  done: (error: NodeJS.ErrnoException | null, count: number) => void,
) => void

/** Octets that wait for a reader that does not read, a journal that hangs for one. */
const waitingOctetsMax = 1_000_000
/** A pipe without room that does not make its writers wait is tried again after that. */
const againMs = 50

/** @param descriptor 2 for standard error */
export const writeTo =
  (descriptor: number): WriteSome =>
  (octets, done) =>
    write(descriptor, octets, 0, octets.length, null, done)

/**
 * Lines to standard error or the like. A full disk loses lines and nothing else; they are counted, and written again when
 * there is room. (Node's own stream to a file destroys itself at the first error, for good.) A reader that hangs makes lines
 * wait, up to a limit, and never the program: nothing here blocks.
 */
export function steadyOutput(writeSome: WriteSome, clock: Clock): LogOutput {
  const waiting: Buffer[] = []
  let waitingOctets = 0
  let lostCount = 0
  /** of those, lost since a line was written last */
  let lostInARow = 0
  let reason = ''
  let writing = false
  /** the reader is gone for good */
  let gone = false
  const put = wholeLines(writeSome, clock)
  let listener: LogOutputListener | undefined
  let onIdle = (): void => {}

  const lose = (why: string): void => {
    lostCount++
    lostInARow++
    reason = why
    if (lostInARow === 1) listener?.lost(why)
  }

  const next = (): void => {
    const line = waiting.shift()
    if (line === undefined) {
      writing = false
      onIdle()
      return
    }
    writing = true
    waitingOctets -= line.length
    put(line, (error) => {
      if (error !== null) {
        gone = error.code === 'EPIPE' || error.code === 'EBADF'
        lose(errorText(error))
        if (gone) forget()
      } else if (lostInARow > 0) {
        const [count, why] = [lostInARow, reason]
        lostInARow = 0
        listener?.back(count, why)
      }
      next()
    })
  }
  const forget = (): void => {
    lostCount += waiting.length
    waiting.length = 0
    waitingOctets = 0
  }

  return {
    write(line) {
      const octets = Buffer.from(line)
      if (gone) lostCount++
      else if (waitingOctets + octets.length > waitingOctetsMax) lose('nobody reads it')
      else {
        waiting.push(octets)
        waitingOctets += octets.length
        if (!writing) next()
      }
    },
    flush: (timeLimitMs) =>
      new Promise((resolve) => {
        if (!writing) return resolve()
        const cancel = clock.at(clock.monotonicMs() + timeLimitMs, resolve)
        onIdle = () => {
          cancel()
          resolve()
        }
      }),
    listen(one) {
      listener = one
    },
    get lostCount() {
      return lostCount
    },
  }
}

type WriteLine = (line: Buffer, end: (error: NodeJS.ErrnoException | null) => void) => void

/** Writes a line to its end, in as many pieces as it takes; after one whose end was lost the next begins a line of its own. */
function wholeLines(writeSome: WriteSome, clock: Clock): WriteLine {
  let torn = false
  const put: WriteLine = (octets, end) =>
    writeSome(octets, (error, count) => {
      if (error?.code === 'EAGAIN') {
        clock.at(clock.monotonicMs() + againMs, () => put(octets, end))
        return
      }
      if (error === null && count < octets.length) {
        torn = true
        put(octets.subarray(count), end)
        return
      }
      if (error === null) torn = false
      end(error)
    })
  return (line, end) => put(torn ? Buffer.concat([Buffer.from('\n'), line]) : line, end)
}
