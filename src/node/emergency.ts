import type { AprsPayload } from '../aprs/types.js'
import { automaticReply } from './askLimits.js'

/** A call for help that was heard. */
export interface EmergencyCall {
  /** what made it one: 'Mic-E emergency', 'EMERGENCY', or the word that it began with */
  readonly sign: string
  /** the sender says that it is an exercise */
  readonly exercise: boolean
  /** what was said with it; may be empty */
  readonly text: string
}

/** Words are compared without regard to case, and a blank in one stands for any number of them. */
export interface EmergencyWords {
  /** a message that begins with one of these calls for help */
  readonly words: readonly string[]
  /** one of these anywhere marks it as an exercise */
  readonly exerciseWords: readonly string[]
}

/** What is known as a call for help by the code of a Mic-E position. */
export const micESign = 'Mic-E emergency'

/** Written so, in capitals, it counts wherever it stands, but where it is denied. */
const capitalWord = /(?<![\p{L}\p{M}])(?<!\bNON?[- ])EMERGENCY(?![\p{L}\p{M}])/u

/**
 * Whether a frame calls for help: a Mic-E emergency (APRS Protocol Reference 1.0.1, chapter 10), EMERGENCY in what somebody
 * says of himself or sends as a message, or a message that begins with one of the words. What is told of others (an
 * object, an item, a bulletin) is no call of theirs.
 */
export function emergencyIn(
  payload: AprsPayload,
  { words, exerciseWords }: EmergencyWords,
): EmergencyCall | undefined {
  const text = textOf(payload)
  if (text === undefined) return undefined
  const sign = signOf(payload, text, words)
  if (sign === undefined) return undefined
  const plain = comparable(text)
  const exercise = exerciseWords.some((word) => contains(plain, comparable(word)))
  return { sign, exercise, text }
}

function signOf(payload: AprsPayload, text: string, words: readonly string[]): string | undefined {
  if (payload.kind === 'micE' && payload.emergency) return micESign
  if (payload.kind === 'message') {
    if (automaticReply.test(text)) return undefined
    const start = comparable(text).replace(/^[^\p{L}\p{N}]+/u, '')
    const word = words.find((one) => beginsWith(start, comparable(one)))
    if (word !== undefined) return word
  }
  return capitalWord.test(text.normalize('NFC')) ? 'EMERGENCY' : undefined
}

function textOf(payload: AprsPayload): string | undefined {
  switch (payload.kind) {
    case 'micE':
    case 'position':
      return payload.comment
    case 'message':
    case 'status':
      return payload.text
    default:
      return undefined
  }
}

const comparable = (text: string): string =>
  text.normalize('NFC').toLowerCase().replace(/\s+/gu, ' ').trim()

const beginsWith = (text: string, word: string): boolean =>
  word !== '' && text.startsWith(word) && !/^[\p{L}\p{M}]/u.test(text.slice(word.length))

function contains(text: string, word: string): boolean {
  if (word === '') return false
  for (let at = text.indexOf(word); at >= 0; at = text.indexOf(word, at + 1)) {
    const isBegin = at === 0 || !/[\p{L}\p{M}]$/u.test(text.slice(0, at))
    if (isBegin && beginsWith(text.slice(at), word)) return true
  }
  return false
}
