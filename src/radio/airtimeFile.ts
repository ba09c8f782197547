import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs'
import { dirname } from 'node:path'
import type { Clock } from '../runtime/clock.js'
import type { KeyedSpan } from './dutyLedger.js'
import type { RadioPort } from './radioPort.js'

/** One stretch of a key line, by the wall clock. */
interface WallSpan {
  readonly fromWallMs: number
  /** absent while it lasts, or when the process died in it */
  readonly toWallMs?: number
}

export interface AirtimeFileOptions {
  /** one file a radio */
  readonly file: string
  readonly clock: Clock
  /** longest duty window: what is older counts no more */
  readonly keepMs: number
  /** what a stretch lasted at most whose end was not written */
  readonly timeOutMs: number
  /** told in words when the file cannot be read or written; the radio goes on */
  readonly onFault: (text: string) => void
}

/** What is written comes by events, which are told some milliseconds after the line went on. */
const marginMs = 50

/** Remembers when the key line was on, beyond the life of the process. */
export interface AirtimeFile {
  /** What earlier processes did, in this clock's monotonic time, oldest first. */
  past(): KeyedSpan[]
  /** Writes down what a radio does from now on. */
  follow(port: RadioPort): void
}

/**
 * Without it a program that fails and is started again and again, or a tone that is sent again and again, would begin
 * with an empty duty window each time. The beginning of a transmission is written as well as its end: a process that
 * died while keyed is taken to have sent until the time-out timer. A stretch that lies in the future (the clock of the
 * machine was set back) is taken to have ended just now.
 */
export function openAirtimeFile(options: AirtimeFileOptions): AirtimeFile {
  const { file, clock } = options
  let spans = readSpans(options)

  const write = (): void => {
    const oldestMs = clock.wallMs() - options.keepMs
    spans = spans.filter(({ fromWallMs, toWallMs }) => (toWallMs ?? fromWallMs) >= oldestMs)
    try {
      mkdirSync(dirname(file), { recursive: true })
      writeFileSync(`${file}.new`, JSON.stringify({ spans }))
      renameSync(`${file}.new`, file)
    } catch (error) {
      options.onFault(`${file}: airtime not written: ${words(error)}`)
    }
  }

  return {
    past() {
      const wallMs = clock.wallMs()
      const nowMs = clock.monotonicMs()
      const past: KeyedSpan[] = []
      // From the newest back, so that none reaches into the next.
      let beforeMs = nowMs
      for (const { fromWallMs, toWallMs = fromWallMs + options.timeOutMs } of spans.toReversed()) {
        const lengthMs = Math.max(0, toWallMs - fromWallMs) + marginMs
        const toMs = Math.min(beforeMs, nowMs - (wallMs - toWallMs))
        beforeMs = toMs - lengthMs
        if (toMs >= nowMs - options.keepMs) past.unshift({ fromMs: beforeMs, toMs })
      }
      return past
    },
    follow(port) {
      port.onEvent(({ kind, atWallMs }) => {
        if (kind === 'keyed') spans.push({ fromWallMs: atWallMs })
        else if (kind === 'unkeyed') close(spans, atWallMs)
        else return
        write()
      })
    },
  }
}

function close(spans: WallSpan[], toWallMs: number): void {
  const last = spans.at(-1)
  if (last === undefined || last.toWallMs !== undefined) return
  spans[spans.length - 1] = { ...last, toWallMs }
}

function readSpans({ file, onFault }: AirtimeFileOptions): WallSpan[] {
  try {
    const read: unknown = JSON.parse(readFileSync(file, 'utf8'))
    const listed = (read as { spans?: unknown }).spans
    if (!Array.isArray(listed)) throw new Error('no list of spans')
    return listed.filter(isSpan).sort((a, b) => a.fromWallMs - b.fromWallMs)
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT')
      onFault(`${file}: earlier airtime not read: ${words(error)}`)
    return []
  }
}

function isSpan(value: unknown): value is WallSpan {
  const { fromWallMs, toWallMs } = (value ?? {}) as Record<string, unknown>
  const right = (one: unknown): boolean => typeof one === 'number' && Number.isFinite(one)
  return right(fromWallMs) && (toWallMs === undefined || right(toWallMs))
}

const words = (error: unknown): string => (error instanceof Error ? error.message : String(error))
