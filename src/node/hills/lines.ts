import {
  type EntryKind,
  entryKinds,
  entryLimits,
  isEntryId,
  isNodeCall,
  isSenderName,
  type Outcome,
  outcomes,
} from './entry.js'
import { hopsMax } from './routes.js'

/*
 * A session between two nodes is lines of UTF-8 that end with CR, over connected mode with PID F0. DEVELOPERS.md, "From hill to hill",
 * has the form for other implementers.
 */

/** Octets of a line, without its CR and without the seal behind it. */
export const lineOctetsMax = 250
/** Octets of text in one line of an entry. */
const textOctetsMax = 200

/** One line, as a value. */
export type Line =
  | {
      readonly type: 'hill'
      readonly call: string
      /** names one life of the other's database: another one after a copy was put in its place */
      readonly epoch: string
      /** sessions that it has kept, and those of which it knows that we have kept them */
      readonly count: number
      readonly confirmed: number
      readonly nonce: string
    }
  | { readonly type: 'session'; readonly count: number }
  | {
      readonly type: 'offer'
      readonly id: string
      readonly kind: EntryKind
      readonly octets: number
      readonly to: string
    }
  | { readonly type: 'asked' | 'answered' | 'given' | 'nothing' | 'end' | '.' }
  | { readonly type: 'want' | 'have' | 'kept'; readonly id: string }
  | { readonly type: 'ended'; readonly id: string; readonly outcome: Outcome }
  | { readonly type: 'refuse'; readonly id: string; readonly reason: string }
  | {
      readonly type: 'entry'
      readonly id: string
      readonly kind: EntryKind
      readonly from: string
      readonly to: string
      readonly ageMin: number
      readonly lifeMin: number
      readonly trace: readonly string[]
    }
  | { readonly type: 's' | 't' | 'c'; readonly text: string }
  | { readonly type: 'stop'; readonly reason: string }

export function formatLine(line: Line): string {
  switch (line.type) {
    case 'hill':
      return `hill 1 ${line.call} ${line.epoch} ${line.count} ${line.confirmed} ${line.nonce}`
    case 'session':
      return `session ${line.count}`
    case 'offer':
      return `offer ${line.id} ${line.kind} ${line.octets} ${line.to}`
    case 'want':
    case 'have':
    case 'kept':
      return `${line.type} ${line.id}`
    case 'ended':
      return `ended ${line.id} ${line.outcome}`
    case 'refuse':
      return `refuse ${line.id} ${line.reason}`
    case 'entry': {
      const { id, kind, from, to, ageMin, lifeMin, trace } = line
      return `entry ${id} ${kind} ${from} ${to} ${ageMin} ${lifeMin} ${trace.join(',')}`
    }
    case 's':
    case 't':
    case 'c':
      return `${line.type} ${line.text}`
    case 'stop':
      return `stop ${line.reason}`
    default:
      return line.type
  }
}

const epochForm = /^[a-z2-7]{8}$/
const nonceForm = /^[a-z2-7]{16}$/
const reasonForm = /^[a-z-]{1,20}$/
const countMax = 1_000_000_000

const wholeOf = (text: string | undefined, max: number): number | undefined =>
  text !== undefined && /^(0|[1-9]\d{0,9})$/.test(text) && Number(text) <= max
    ? Number(text)
    : undefined

const oneOf = <Name extends string>(names: readonly Name[], text: string): Name | undefined =>
  names.find((name) => name === text)

/** A station, whoever wrote something, or '*'. */
const isReceiver = isSenderName

/** @returns undefined for what is no line of this form: nothing is guessed */
export function parseLine(text: string): Line | undefined {
  if (Buffer.byteLength(text) > lineOctetsMax) return undefined
  const space = text.indexOf(' ')
  const type = space < 0 ? text : text.slice(0, space)
  const rest = space < 0 ? '' : text.slice(space + 1)
  switch (type) {
    case 'asked':
    case 'answered':
    case 'given':
    case 'nothing':
    case 'end':
    case '.':
      return space < 0 ? { type } : undefined
    case 's':
    case 't':
    case 'c':
      return space < 0 || Buffer.byteLength(rest) > textOctetsMax ? undefined : { type, text: rest }
    case 'stop':
      return reasonForm.test(rest) ? { type, reason: rest } : undefined
    default:
      return parseWords(type, rest.split(' '))
  }
}

function parseWords(type: string, words: readonly string[]): Line | undefined {
  const [first = ''] = words
  switch (type) {
    case 'hill':
      return parseHill(words)
    case 'session': {
      const count = words.length === 1 ? wholeOf(first, countMax) : undefined
      return count === undefined ? undefined : { type, count }
    }
    case 'offer':
      return parseOffer(words)
    case 'entry':
      return parseEntry(words)
    case 'want':
    case 'have':
    case 'kept':
      return words.length === 1 && isEntryId(first) ? { type, id: first } : undefined
    case 'ended': {
      const outcome = oneOf(outcomes, words[1] ?? '')
      if (words.length !== 2 || !isEntryId(first) || outcome === undefined) return undefined
      return { type, id: first, outcome }
    }
    case 'refuse': {
      const reason = words[1] ?? ''
      if (words.length !== 2 || !isEntryId(first) || !reasonForm.test(reason)) return undefined
      return { type, id: first, reason }
    }
    default:
      return undefined
  }
}

function parseHill(words: readonly string[]): Line | undefined {
  const [form, call = '', epoch = '', countText, confirmedText, nonce = ''] = words
  const count = wholeOf(countText, countMax)
  const confirmed = wholeOf(confirmedText, countMax)
  if (words.length !== 6 || form !== '1' || !isNodeCall(call)) return undefined
  if (!epochForm.test(epoch) || !nonceForm.test(nonce)) return undefined
  if (count === undefined || confirmed === undefined) return undefined
  return { type: 'hill', call, epoch, count, confirmed, nonce }
}

function parseOffer(words: readonly string[]): Line | undefined {
  const [id = '', kindText = '', octetsText, to = ''] = words
  const kind = oneOf(entryKinds, kindText)
  if (words.length !== 4 || !isEntryId(id) || kind === undefined || !isReceiver(to))
    return undefined
  const octets = wholeOf(octetsText, entryLimits.textOctets[kind])
  return octets === undefined ? undefined : { type: 'offer', id, kind, octets, to }
}

function parseEntry(words: readonly string[]): Line | undefined {
  const [id = '', kindText = '', from = '', to = '', ageText, lifeText, traceText = ''] = words
  const kind = oneOf(entryKinds, kindText)
  const ageMin = wholeOf(ageText, entryLimits.ageMin)
  const lifeMin = wholeOf(lifeText, entryLimits.lifeMin)
  const trace = traceText.split(',')
  if (words.length !== 7 || !isEntryId(id) || kind === undefined) return undefined
  if (!isSenderName(from) || !isReceiver(to) || ageMin === undefined || lifeMin === undefined)
    return undefined
  if (trace.length > hopsMax || !trace.every(isNodeCall)) return undefined
  return { type: 'entry', id, kind, from, to, ageMin, lifeMin, trace }
}

/** The lines of a text: 't' begins one, 'c' goes on with one that is longer than a line may be. */
export function textLines(text: string): Line[] {
  return text.split('\n').flatMap((line) =>
    piecesOf(line).map((piece, index) => ({
      ...{ type: index === 0 ? ('t' as const) : ('c' as const), text: piece },
    })),
  )
}

/** Between characters, at most textOctetsMax octets each. */
function piecesOf(line: string): string[] {
  const pieces = ['']
  let octets = 0
  for (const character of line) {
    const more = Buffer.byteLength(character)
    if (octets + more > textOctetsMax) {
      pieces.push('')
      octets = 0
    }
    pieces[pieces.length - 1] += character
    octets += more
  }
  return pieces
}
