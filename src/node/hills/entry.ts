import { isTrace } from './routes.js'

/**
 * What goes from node to node. 'message' and 'letter' have one keeper at a time; 'report' says what became of one, 'withdrawal' that an
 * entry is to go; the others are copied to every node within reach.
 */
export const entryKinds = [
  'message',
  'letter',
  'report',
  'withdrawal',
  'notice',
  'stations',
  'weather',
  'directory',
] as const
export type EntryKind = (typeof entryKinds)[number]

/** What may have become of an entry in the end. */
export const outcomes = [
  'delivered',
  'refused',
  'expired',
  'withdrawn',
  'unknown',
  'replaced',
] as const
export type Outcome = (typeof outcomes)[number]

/** One entry, as it stands on the air and in the database. */
export interface Entry {
  /** the node where it began, a dot, ten characters */
  readonly id: string
  readonly kind: EntryKind
  /** who wrote it: a call sign, or a name for somebody without one */
  readonly from: string
  /** who is to get it: a station; of a report, the sender; of what goes to everybody, '*' */
  readonly to: string
  /** of letters; else '' */
  readonly subject: string
  /** lines with a line feed between them */
  readonly text: string
  /** how long ago it was written, and how long it is of use from now, minutes: no clock of another is believed */
  readonly ageMin: number
  readonly lifeMin: number
  /** nodes that handed it on, the first where it began, the last who hands it over */
  readonly trace: readonly string[]
}

/** Kinds that are kept by one node at a time. */
export const isCarried = (kind: string): boolean => kind === 'message' || kind === 'letter'

/** Kinds of which a node's newest takes the place of its older ones. */
export const isLatestOnly = (kind: string): boolean =>
  kind === 'stations' || kind === 'weather' || kind === 'directory'

export const entryLimits = {
  subjectOctets: 200,
  /** of a letter: the highest that a configuration allows */
  textOctets: {
    message: 256,
    letter: 50_000,
    report: 256,
    withdrawal: 256,
    notice: 256,
    stations: 4_000,
    weather: 4_000,
    directory: 1_000,
  } satisfies Record<EntryKind, number>,
  /** a year, and 30 days */
  ageMin: 525_600,
  lifeMin: 43_200,
} as const

const idForm = /^[A-Z0-9]{1,6}(-([1-9]|1[0-5]))?\.[A-Z2-7]{10}$/
const callForm = /^[A-Z0-9]{1,6}(-([1-9]|1[0-5]))?$/
/** A call sign, or a name with a place: printable, without spaces. */
const nameForm = /^[\x21-\x7e]{1,60}$/

export const isEntryId = (text: string): boolean => idForm.test(text)
export const isNodeCall = (text: string): boolean => callForm.test(text)
export const isSenderName = (text: string): boolean => nameForm.test(text)

/** Where an entry began. */
export const originOf = (id: string): string => id.slice(0, id.indexOf('.'))

/** What is wrong with an entry that came, in a word for the other end; undefined where nothing is. */
export function entryFault(entry: Entry): string | undefined {
  const { id, kind, from, to, subject, text, ageMin, lifeMin, trace } = entry
  if (!isEntryId(id)) return 'id'
  if (!isSenderName(from)) return 'from'
  if (to !== '*' && !(kind === 'report' ? isSenderName(to) : isNodeCall(to))) return 'to'
  if ((isCarried(kind) || kind === 'report') === (to === '*')) return 'to'
  if (!isTrace(trace) || !trace.every(isNodeCall) || trace[0] !== originOf(id)) return 'trace'
  if (octetsOf(subject) > entryLimits.subjectOctets || /\p{Cc}/u.test(subject)) return 'subject'
  if (octetsOf(text) > entryLimits.textOctets[kind] || text.replaceAll('\n', '').match(/\p{Cc}/u))
    return 'text'
  if (!isCount(ageMin, entryLimits.ageMin)) return 'age'
  return isCount(lifeMin, entryLimits.lifeMin) ? undefined : 'life'
}

const isCount = (value: number, max: number): boolean =>
  Number.isInteger(value) && value >= 0 && value <= max

export const octetsOf = (text: string): number => Buffer.byteLength(text)
