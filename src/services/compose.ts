import { messageCharactersMax } from '../aprs/messageText.js'
import type { AsSent } from './service.js'
import { splitAnswer } from './splitAnswer.js'

/**
 * The parts of an answer, in no more messages than their characters need: each part a message of its own where that costs none more,
 * else as many whole parts in one message as it holds, else one text that goes on from message to message.
 * @param joint between parts in one message; a part that ends a sentence needs none
 */
export function composed(parts: readonly string[], joint = '. '): string | readonly string[] {
  const text = parts.reduce((before, part) => joined(before, part, joint))
  const fewest = Math.ceil(text.length / messageCharactersMax)
  const countOf = (entries: string | readonly string[]): number =>
    splitAnswer(entries, { messagesMax: Number.POSITIVE_INFINITY }).length
  if (countOf(parts) <= fewest) return parts
  const lines: string[] = []
  for (const part of parts) {
    const longer = lines.length === 0 ? part : joined(lines.at(-1)!, part, joint)
    if (lines.length > 0 && longer.length <= messageCharactersMax) lines[lines.length - 1] = longer
    else lines.push(part)
  }
  return countOf(lines) <= Math.max(fewest, countOf(text)) ? lines : text
}

const joined = (before: string, part: string, joint: string): string =>
  /[.?!]$/.test(before) ? `${before} ${part}` : `${before}${joint}${part}`

/** People's texts, whole ones only in one message. */
export function composedAsSent(texts: readonly string[]): readonly AsSent[] {
  const lines: string[] = []
  for (const text of texts) {
    const longer = lines.length === 0 ? text : `${lines.at(-1)} / ${text}`
    if (lines.length > 0 && [...longer].length <= messageCharactersMax)
      lines[lines.length - 1] = longer
    else lines.push(text)
  }
  return lines.map((asSent) => ({ asSent }))
}
