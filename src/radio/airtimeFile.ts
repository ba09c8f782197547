import { existsSync, readFileSync, rmSync } from 'node:fs'
import { replaceFile } from '../devices/replaceFile.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { ControllerPast } from './controllerTypes.js'
import type { DutyLimit, KeyedSpan } from './dutyLedger.js'
import type { RadioPort } from './radioPort.js'
import { formatUnknownPast, fullestPast } from './unknownPast.js'

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
  /** what is older than the longest window counts no more */
  readonly dutyLimits: readonly DutyLimit[]
  /** what a stretch lasted at most whose end was not written */
  readonly timeOutMs: number
  /** true where this radio may have sent before, so that a missing file is one that was lost */
  readonly ranBefore: boolean
  /** told in words when the file cannot be read or written; the radio goes on */
  readonly onFault: (text: string) => void
  /** the machine's own unless a test says otherwise */
  readonly disk?: AirtimeDisk | undefined
}

/** What is written to; both throw what stands against it. */
export interface AirtimeDisk {
  replace(file: string, text: string): void
  remove(file: string): void
}

const machinesDisk: AirtimeDisk = {
  // Twice a transmission: made durable, each would cost an SD card some 30 kB and the thread a pause.
  replace: (file, text) => replaceFile(file, text, { durable: false }),
  remove: (file) => rmSync(file, { force: true }),
}

/** What is written comes by events, which are told some milliseconds after the line went on. */
const marginMs = 50

/** What could not be written is tried again after so long. */
const retryMs = 10_000

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

/** What was found, or why nothing is known. */
type Found =
  | { readonly kind: 'read' | 'first start'; readonly memory: Memory }
  | { readonly kind: 'unknown'; readonly why: string }

/**
 * Without it a program that fails and is started again and again, or a tone that is sent again and again, would begin
 * with an empty duty window each time, and a communication that a crash ended would never be identified. The beginning
 * of a transmission is written as well as its end: a process that died while keyed is taken to have sent until the
 * time-out timer, without our call. A clock that is set meanwhile makes nothing older or shorter. A machine that has been
 * started anew since may have had any time before, and may have been off for seconds: what was sent last is taken to have
 * ended just now.
 *
 * Where the past is not known, because the file is damaged, cannot be read, has gone or cannot be written (so that what
 * it holds may be old), the limits are taken to be used up: a node on a disk that has become read-only, started again and
 * again, would otherwise send as much as it likes.
 */
export function openAirtimeFile(options: AirtimeFileOptions): AirtimeFile {
  const { file, clock, bootId, onFault, disk = machinesDisk } = options
  const keepMs = keptMs(options)
  const offsetMs = (): number => clock.wallMs() - clock.monotonicMs()
  const found = readMemory(options)
  const read: Memory = found.kind === 'unknown' ? fullestMemory(options) : found.memory
  const sameBoot = bootId !== undefined && bootId === read.bootId
  const isOfOtherBoot = bootId !== undefined && read.bootId !== undefined && !sameBoot
  let memory: Memory = sameBoot
    ? read
    : { ...(isOfOtherBoot ? endedNow(read, options) : read), offsetMs: offsetMs() }

  const shifted = (): Memory => {
    const byMs = offsetMs() - (memory.offsetMs ?? offsetMs())
    return byMs === 0 ? memory : shift(memory, byMs)
  }
  /** @returns why it could not be written; undefined when it was */
  const write = (changed: Memory): string | undefined => {
    const oldestMs = clock.wallMs() - keepMs
    const spans = changed.spans.filter((span) => (span.toWallMs ?? span.fromWallMs) >= oldestMs)
    memory = { ...changed, spans, bootId, offsetMs: offsetMs() }
    try {
      disk.replace(file, JSON.stringify(memory))
      return undefined
    } catch (error) {
      return errorText(error)
    }
  }
  let wasWritten = true
  let cancelRetry: Cancel = () => {}
  const writeAndTell = (changed: Memory): void => {
    cancelRetry()
    const trouble = write(changed)
    // A disk that stays full is reported once.
    if (trouble !== undefined && wasWritten) onFault(`airtime not written: ${trouble}`)
    wasWritten = trouble === undefined
    if (wasWritten) return
    removeQuietly(disk, file)
    // Left as it is until the next transmission, a disk that can be written again would have the next process believe an old file.
    const retry = (): void => writeAndTell(shifted())
    cancelRetry = clock.at(clock.monotonicMs() + retryMs, retry, { keepsAlive: false })
  }

  writeAndTell(shifted())
  // Of what can be removed the process before us was able to say that it is old.
  const isOld = !wasWritten && (found.kind !== 'read' || existsSync(file))
  if (found.kind === 'unknown' || isOld) {
    const why = found.kind === 'unknown' ? found.why : `${file} cannot be written`
    memory = { ...memory, ...fullestMemory(options), offsetMs: offsetMs() }
    onFault(formatUnknownPast(why, options.dutyLimits))
  }

  return {
    past() {
      memory = { ...shifted(), offsetMs: offsetMs() }
      return { spans: pastSpans(memory, options), owedSinceMs: pastDebt(memory, options) }
    },
    follow(port) {
      port.onEvent(({ kind, atMs, owedSinceMs }) => {
        // The wall clock may have been set since the event was stamped: what it says now goes with what was shifted.
        const atWallMs = atMs + offsetMs()
        if (kind === 'keyed') {
          const now = shifted()
          writeAndTell({ ...now, spans: [...now.spans, { fromWallMs: atWallMs }] })
        } else if (kind === 'unkeyed') {
          const now = shifted()
          const owedSinceWallMs = owedSinceMs === undefined ? undefined : owedSinceMs + offsetMs()
          writeAndTell({ ...now, spans: closed(now.spans, atWallMs), owedSinceWallMs })
        }
      })
    },
  }
}

/** A file that can no longer be written says too little: better none, which the next process takes for a lost one. */
function removeQuietly(disk: AirtimeDisk, file: string): void {
  try {
    disk.remove(file)
  } catch {
    // Then the next process cannot write it either, and takes it for old.
  }
}

const keptMs = ({ dutyLimits }: AirtimeFileOptions): number =>
  Math.max(0, ...dutyLimits.map(({ windowMs }) => windowMs))

/** What counts where nothing is known. */
function fullestMemory({ clock, dutyLimits }: AirtimeFileOptions): Pick<Memory, 'spans'> {
  const spans = fullestPast(dutyLimits, clock.wallMs())
  return { spans: spans.map(({ fromMs, toMs }) => ({ fromWallMs: fromMs, toWallMs: toMs })) }
}

/** As late as it can have been: the newest stretch has just ended, and the others lie before it as they did. */
function endedNow(memory: Memory, { clock, timeOutMs }: AirtimeFileOptions): Memory {
  const last = memory.spans.at(-1)
  if (last === undefined) return memory
  const { spans } = shift(memory, clock.wallMs() - (last.toWallMs ?? last.fromWallMs + timeOutMs))
  return { ...memory, spans }
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
    if (toMs >= nowMs - keptMs(options)) past.unshift({ fromMs: beforeMs, toMs })
  }
  return past
}

/** A communication that ended longer ago than the longest duty window: nobody would know what the call belongs to. */
function pastDebt(
  { spans, owedSinceWallMs }: Memory,
  options: AirtimeFileOptions,
): number | undefined {
  const last = spans.at(-1)
  const diedKeyedMs = last !== undefined && last.toWallMs === undefined ? last.fromWallMs : Infinity
  const sinceMs = Math.min(owedSinceWallMs ?? Infinity, diedKeyedMs)
  const { clock } = options
  const ageMs = Math.max(0, clock.wallMs() - sinceMs)
  return sinceMs === Infinity || ageMs > keptMs(options) ? undefined : clock.monotonicMs() - ageMs
}

function closed(spans: readonly WallSpan[], toWallMs: number): readonly WallSpan[] {
  const last = spans.at(-1)
  if (last === undefined || last.toWallMs !== undefined) return spans
  return [...spans.slice(0, -1), { fromWallMs: last.fromWallMs, toWallMs }]
}

function readMemory({ file, ranBefore }: AirtimeFileOptions): Found {
  const unknown = (why: string): Found => ({ kind: 'unknown', why: `${file} ${why}` })
  let text: string
  try {
    text = readFileSync(file, 'utf8')
  } catch (error) {
    const isMissing = (error as NodeJS.ErrnoException).code === 'ENOENT'
    if (!isMissing) return unknown(`cannot be read (${errorText(error)})`)
    // At the first start ever nothing has been sent.
    if (!ranBefore) return { kind: 'first start', memory: { spans: [] } }
    return unknown('is missing, although this node has run before')
  }
  const memory = parseMemory(text)
  return memory === undefined ? unknown('is damaged') : { kind: 'read', memory }
}

/** @returns undefined for what this program has not written */
function parseMemory(text: string): Memory | undefined {
  try {
    const read: unknown = JSON.parse(text)
    const { bootId, offsetMs, owedSinceWallMs, spans } = read as Record<string, unknown>
    if (!Array.isArray(spans) || !spans.every(isSpan)) return undefined
    return {
      spans: spans.toSorted((a, b) => a.fromWallMs - b.fromWallMs),
      owedSinceWallMs: isFiniteNumber(owedSinceWallMs) ? owedSinceWallMs : undefined,
      bootId: typeof bootId === 'string' && isFiniteNumber(offsetMs) ? bootId : undefined,
      offsetMs: isFiniteNumber(offsetMs) ? offsetMs : undefined,
    }
  } catch {
    return undefined
  }
}

function isSpan(value: unknown): value is WallSpan {
  const { fromWallMs, toWallMs } = (value ?? {}) as Record<string, unknown>
  return isFiniteNumber(fromWallMs) && (toWallMs === undefined || isFiniteNumber(toWallMs))
}

const isFiniteNumber = (value: unknown): value is number => Number.isFinite(value)
