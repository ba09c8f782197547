// What a line of the strip is, and which of them frames and events make.
import type { EventView } from '../schemas'

/** One line of the strip. */
export interface Entry {
  readonly key: string
  readonly atWallMs: number
  readonly radio: number | undefined
  /** decides colour and shape */
  readonly manner: 'heard' | 'ours' | 'wrong' | 'waits' | 'may' | 'plain'
  readonly kind: string
  readonly station: string | undefined
  readonly text: string
  readonly reason: string | undefined
  /** figures of a frame or of a damaged one; the words are made when it is shown */
  readonly detail?: StreamItem
}

export interface StreamItem {
  readonly type: string
  readonly at: number
  readonly radio?: number
  // biome-ignore lint/suspicious/noExplicitAny: each type has its own; the schemas are the server's
  readonly [name: string]: any
}

let keyCount = 0

/** What is asked of us and acknowledged to us is an event as well: the strip says it once. */
const isTalkWith = (call: string, text: string): boolean =>
  ['message', 'acknowledgement', 'rejection'].some((what) => text.startsWith(`${what} to ${call}`))

/** What happens to a frame besides what the strip shows anyhow. */
const unshown: ReadonlySet<string> = new Set([
  'heard',
  'repaired',
  'queued',
  'answered',
  'keyed',
  'unkeyed',
])
/** Why nothing was to be answered, where nobody would ask why. */
const usual: ReadonlySet<string> = new Set([
  'nothing asked',
  'not addressed to us',
  'copy of a frame heard before',
  'our own frame',
])
/** Said of nearly every message that arrives. */
const plainReason = 'by its receiver'
const acknowledgedCharacters = 30
const manners: Readonly<Record<string, Entry['manner']>> = {
  asked: 'heard',
  left: 'heard',
  posted: 'heard',
  connected: 'heard',
  disconnected: 'heard',
  acknowledged: 'may',
  delivered: 'may',
  release: 'may',
  recovered: 'may',
  answered: 'ours',
  sent: 'ours',
  identified: 'ours',
  held: 'waits',
  hold: 'waits',
  refused: 'wrong',
  rejected: 'wrong',
  'given up': 'wrong',
  expired: 'wrong',
  cut: 'wrong',
  fault: 'wrong',
  unheard: 'wrong',
  damaged: 'wrong',
  emergency: 'wrong',
  ignored: 'waits',
}

/** Frames of before this page was opened are in the log alone. */
export function entryOfPast(event: EventView, ownCall: string): Entry[] {
  const { atWallMs, radio, kind, station, text } = event
  if (kind !== 'heard' && kind !== 'repaired') return entryOfEvent(event)
  if (isTalkWith(ownCall, text)) return []
  return [
    {
      key: `p${++keyCount}`,
      atWallMs,
      radio,
      manner: 'heard',
      kind,
      station,
      text,
      reason: undefined,
    },
  ]
}

export function entryOfEvent(event: EventView): Entry[] {
  const { atWallMs, radio, kind, station } = event
  if (unshown.has(kind) || (kind === 'ignored' && usual.has(event.reason ?? ''))) return []
  const isLong = kind === 'acknowledged' && event.text.length > acknowledgedCharacters
  const text = isLong ? `${event.text.slice(0, acknowledgedCharacters)}…` : event.text
  const reason = event.reason === plainReason ? undefined : event.reason
  // A repetition of what was answered already is asked again, and answered as it was.
  const shownKind = kind === 'ignored' && reason?.startsWith('heard again') ? 'asked' : kind

  return [
    {
      key: `e${++keyCount}`,
      atWallMs,
      radio,
      manner: manners[shownKind] ?? 'plain',
      kind: shownKind,
      station,
      text,
      reason,
    },
  ]
}

/** A frame that was heard just now; none where an event tells of it. */
export function entryOfFrame(item: StreamItem, ownCall: string): Entry[] {
  if (isTalkWith(ownCall, item.text as string)) return []
  return [
    {
      ...{ key: `f${++keyCount}`, atWallMs: item.at, radio: item.radio, manner: 'heard' },
      ...{
        kind: item.repairedBits > 0 ? 'repaired' : 'heard',
        station: item.from,
        text: item.text,
      },
      ...{ reason: undefined, detail: item },
    },
  ]
}

export const entryOfDamaged = (item: StreamItem): Entry => ({
  ...{ key: `d${++keyCount}`, atWallMs: item.toWallMs, radio: item.radio, manner: 'wrong' },
  ...{ kind: 'damaged', station: undefined, text: '', reason: item.cause, detail: item },
})
