import { closeSync, fstatSync, openSync, readSync } from 'node:fs'
import { type LoggedEdge, parseEdgeLog } from '../ptt/edgeLog.js'
import type { Clock } from '../runtime/clock.js'
import type { ControllerPast } from './controllerTypes.js'
import type { KeyedSpan } from './dutyLedger.js'
import { identificationLimitMs } from './identification.js'

/** Edges of more than a day at a busy node; older ones count for no window. */
const tailOctets = 512 * 1024

/**
 * What the log of the key line still tells after the whole process was restarted, so that a service manager that restarts a
 * failing node again and again cannot lead it past its duty limits. By the wall clock, as the machine may have been restarted too.
 * @param keyedMsMax a key down without its key up counts that long
 * @returns undefined where there is no such file
 */
export function pastFromLog(
  file: string,
  clock: Clock,
  keyedMsMax: number,
): ControllerPast | undefined {
  const text = tailOf(file)
  if (text === undefined) return undefined
  const shiftMs = clock.monotonicMs() - clock.wallMs()
  const nowMs = clock.monotonicMs()
  const spans = spansOf(parseEdgeLog(text), keyedMsMax)
    .map(({ fromMs, toMs }) => ({ fromMs: fromMs + shiftMs, toMs: toMs + shiftMs }))
    // A wall clock that was set back meanwhile shows them in the future: they are of no use.
    .filter(({ toMs }) => toMs <= nowMs)
  const last = spans.at(-1)
  // Whether our call was in it, the log does not tell: one call too many is no harm.
  const owed = last !== undefined && nowMs - last.toMs < identificationLimitMs
  return { spans, owedSinceMs: owed ? last.fromMs : undefined }
}

function spansOf(edges: readonly LoggedEdge[], keyedMsMax: number): KeyedSpan[] {
  const spans: KeyedSpan[] = []
  let fromMs: number | undefined
  for (const { edge, wallMs } of edges) {
    if (fromMs !== undefined) spans.push({ fromMs, toMs: Math.min(wallMs, fromMs + keyedMsMax) })
    fromMs = edge === 'keyed' ? wallMs : undefined
  }
  if (fromMs !== undefined) spans.push({ fromMs, toMs: fromMs + keyedMsMax })
  return spans
}

function tailOf(file: string): string | undefined {
  let handle: number
  try {
    handle = openSync(file, 'r')
  } catch {
    return undefined
  }
  try {
    const { size } = fstatSync(handle)
    const octets = Buffer.alloc(Math.min(size, tailOctets))
    const count = readSync(handle, octets, 0, octets.length, size - octets.length)
    return octets.toString('utf8', 0, count)
  } catch {
    return undefined
  } finally {
    closeSync(handle)
  }
}
