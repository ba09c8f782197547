import { readFileSync } from 'node:fs'
import { replaceFile } from '../devices/replaceFile.js'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { ControllerPast } from './controllerTypes.js'
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
  /** names this boot of the machine, whose monotonic clock goes on in the next process; undefined where unknown */
  readonly bootId?: string | undefined
  /** longest duty window: what is older counts no more */
  readonly keepMs: number
  /** what a stretch lasted at most whose end was not written */
  readonly timeOutMs: number
  /** told in words when the file cannot be read or written; the radio goes on */
  readonly onFault: (text: string) => void
}

/** What is written comes by events, which are told some milliseconds after the line went on. */
const marginMs = 50

/** Remembers when the key line was on, and an identification that is owed, beyond the life of the process. */
export interface AirtimeFile {
  /** What earlier processes did and left owed, in this clock's monotonic time, oldest first. */
  past(): ControllerPast
  /** Writes down what a radio does from now on. */
  follow(port: RadioPort): void
}

/** All that the file holds. */
interface Memory {
  readonly spans: readonly WallSpan[]
  /** start of the first transmission without our call since the call last went out */
  readonly owedSinceWallMs?: number | undefined
  readonly bootId?: string | undefined
  /** wall clock less monotonic clock, when it was written */
  readonly offsetMs?: number | undefined
}

/**
 * Without it a program that fails and is started again and again, or a tone that is sent again and again, would begin
 * with an empty duty window each time, and a communication that a crash ended would never be identified. The beginning
 * of a transmission is written as well as its end: a process that died while keyed is taken to have sent until the
 * time-out timer, without our call. A clock that is set meanwhile makes nothing older or shorter, as long as the machine
 * has not been started anew; a stretch that lies in the future after that is taken to have ended just now.
 */
export function openAirtimeFile(options: AirtimeFileOptions): AirtimeFile {
  const { file, clock, bootId, keepMs } = options
  const offsetMs = (): number => clock.wallMs() - clock.monotonicMs()
  const read = readMemory(options)
  const sameBoot = bootId !== undefined && bootId === read.bootId
  let memory: Memory = sameBoot ? read : { ...read, offsetMs: offsetMs() }
  let keyedAtMs: number | undefined

  const shifted = (): Memory => {
    const byMs = offsetMs() - (memory.offsetMs ?? offsetMs())
    return byMs === 0 ? memory : shift(memory, byMs)
  }
  const write = (changed: Memory): void => {
    const oldestMs = clock.wallMs() - keepMs
    const spans = changed.spans.filter((span) => (span.toWallMs ?? span.fromWallMs) >= oldestMs)
    memory = { ...changed, spans, bootId, offsetMs: offsetMs() }
    try {
      // Twice a transmission: made durable, each would cost an SD card some 30 kB and the thread a pause.
      replaceFile(file, JSON.stringify(memory), { durable: false })
    } catch (error) {
      options.onFault(`airtime not written: ${errorText(error)}`)
    }
  }

  return {
    past() {
      memory = { ...shifted(), offsetMs: offsetMs() }
      return { spans: pastSpans(memory, options), owedSinceMs: pastDebt(memory, options) }
    },
    follow(port) {
      port.onEvent(({ kind, atMs, atWallMs, owedSinceMs }) => {
        if (kind === 'keyed') {
          keyedAtMs = atMs
          const now = shifted()
          write({ ...now, spans: [...now.spans, { fromWallMs: atWallMs }] })
        } else if (kind === 'unkeyed') {
          const now = shifted()
          const owedSinceWallMs = owedSinceMs === undefined ? undefined : owedSinceMs + offsetMs()
          // The wall clock may have been set meanwhile: the length is the monotonic clock's.
          const lengthMs = keyedAtMs === undefined ? undefined : atMs - keyedAtMs
          keyedAtMs = undefined
          write({ ...now, spans: closed(now.spans, atWallMs, lengthMs), owedSinceWallMs })
        }
      })
    },
  }
}

function shift(memory: Memory, byMs: number): Memory {
  const { spans, owedSinceWallMs } = memory
  return {
    ...memory,
    spans: spans.map(({ fromWallMs, toWallMs }) => ({
      fromWallMs: fromWallMs + byMs,
      ...(toWallMs !== undefined && { toWallMs: toWallMs + byMs }),
    })),
    owedSinceWallMs: owedSinceWallMs === undefined ? undefined : owedSinceWallMs + byMs,
  }
}

function pastSpans({ spans }: Memory, options: AirtimeFileOptions): KeyedSpan[] {
  const wallMs = options.clock.wallMs()
  const nowMs = options.clock.monotonicMs()
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
}

/** A communication that ended longer ago than the longest duty window: nobody would know what the call belongs to. */
function pastDebt(
  { spans, owedSinceWallMs }: Memory,
  { clock, keepMs }: AirtimeFileOptions,
): number | undefined {
  const last = spans.at(-1)
  const diedKeyedMs = last !== undefined && last.toWallMs === undefined ? last.fromWallMs : Infinity
  const sinceMs = Math.min(owedSinceWallMs ?? Infinity, diedKeyedMs)
  const ageMs = Math.max(0, clock.wallMs() - sinceMs)
  return sinceMs === Infinity || ageMs > keepMs ? undefined : clock.monotonicMs() - ageMs
}

function closed(
  spans: readonly WallSpan[],
  toWallMs: number,
  lengthMs: number | undefined,
): readonly WallSpan[] {
  const last = spans.at(-1)
  if (last === undefined || last.toWallMs !== undefined) return spans
  const fromWallMs = lengthMs === undefined ? last.fromWallMs : toWallMs - lengthMs
  return [...spans.slice(0, -1), { fromWallMs, toWallMs }]
}

function readMemory({ file, onFault }: AirtimeFileOptions): Memory {
  try {
    const read: unknown = JSON.parse(readFileSync(file, 'utf8'))
    const { bootId, offsetMs, owedSinceWallMs, spans } = read as Record<string, unknown>
    if (!Array.isArray(spans)) throw new Error('no list of spans')
    return {
      spans: spans.filter(isSpan).sort((a, b) => a.fromWallMs - b.fromWallMs),
      owedSinceWallMs: isFiniteNumber(owedSinceWallMs) ? owedSinceWallMs : undefined,
      bootId: typeof bootId === 'string' && isFiniteNumber(offsetMs) ? bootId : undefined,
      offsetMs: isFiniteNumber(offsetMs) ? offsetMs : undefined,
    }
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT')
      onFault(`${file}: earlier airtime not read: ${errorText(error)}`)
    return { spans: [] }
  }
}

function isSpan(value: unknown): value is WallSpan {
  const { fromWallMs, toWallMs } = (value ?? {}) as Record<string, unknown>
  return isFiniteNumber(fromWallMs) && (toWallMs === undefined || isFiniteNumber(toWallMs))
}

const isFiniteNumber = (value: unknown): value is number => Number.isFinite(value)
