import { parseDetails, parseTimedDetails } from './position.js'
import { readText } from './text.js'
import {
  type ItemPayload,
  type ObjectPayload,
  type UnreadablePayload,
  unreadable,
} from './types.js'

export const objectNameLength = 9

/** Reads `;LEADER   *092345z4903.50N/07201.75W>088/036` (ch. 11). */
export function parseObject(text: string): ObjectPayload | UnreadablePayload {
  const parts = /^;([ -~\x80-\xff]{9})([*_])(.*)$/s.exec(text)
  if (parts === null) return unreadable('object without a name of nine characters and * or _')
  const name = readText(parts[1]!).trimEnd()
  if (name === '') return unreadable('object with an empty name')
  const details = parseTimedDetails(parts[3]!, name)
  if (!details.ok) return unreadable(`object ${name}: ${details.reason}`)
  return { kind: 'object', name, live: parts[2] === '*', ...details.value }
}

/** Reads `)AID#2!4903.50N/07201.75WA` (ch. 11). */
export function parseItem(text: string): ItemPayload | UnreadablePayload {
  const parts = /^\)([^!_]*)([!_])(.*)$/s.exec(text)
  if (parts === null) return unreadable('item without ! or _ after its name')
  const name = readText(parts[1]!).trimEnd()
  if (parts[1]!.length < 3 || parts[1]!.length > 9) {
    return unreadable(`item name of ${parts[1]!.length} characters: expected 3 to 9`)
  }
  const details = parseDetails(parts[3]!, name)
  if (!details.ok) return unreadable(`item ${name}: ${details.reason}`)
  return { kind: 'item', name, live: parts[2] === '!', ...details.value }
}
