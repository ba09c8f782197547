import { messageCharactersMax } from '../aprs/messageText.js'
import type { AsSent } from './service.js'
import { splitAnswer } from './splitAnswer.js'

/**
 * The parts of an answer, in no more messages than their characters need: each part a message of its own where that costs none more,
 * else as many whole parts in one message as it holds, else one text that goes on from message to message.
 * Where that takes one more than the characters need, sentences follow each other without a blank.
 * @param joint between parts in one message; a part that ends a sentence needs none
 */
export function composed(parts: readonly string[], joint = '. '): string | readonly string[] {
  const told = composedOnce(parts, joint)
  if (isFewest(told)) return told
  const tight = composedOnce(
    parts.map((part) => part.replace(/(?<=\p{L}[.?!]) /gu, '')),
    joint.trimEnd(),
  )
  return messagesOf(tight).length < messagesOf(told).length ? tight : told
}

const messagesOf = (answer: string | readonly string[], mayCutWords = true): readonly string[] =>
  splitAnswer(answer, { messagesMax: Number.POSITIVE_INFINITY, mayCutWords })

/** Whether it takes no more messages than its characters, divided by those of one message. */
function isFewest(answer: string | readonly string[], mayCutWords = true): boolean {
  const messages = messagesOf(answer, mayCutWords)
  return messages.length <= Math.ceil(messages.join(' ').length / messageCharactersMax)
}

function composedOnce(parts: readonly string[], joint: string): string | readonly string[] {
  const text = parts.reduce((before, part) => joined(before, part, joint))
  const fewest = Math.ceil(text.length / messageCharactersMax)
  const countOf = (entries: string | readonly string[]): number => messagesOf(entries).length
  if (countOf(parts) <= fewest) return parts
  const lines: string[] = []
  for (const part of parts) {
    const longer = lines.length === 0 ? part : joined(lines.at(-1)!, part, joint)
    if (lines.length > 0 && longer.length <= messageCharactersMax) lines[lines.length - 1] = longer
    else lines.push(part)
  }
  return countOf(lines) <= Math.max(fewest, countOf(text)) ? lines : text
}

/**
 * The first of several forms of the same answer that takes no more messages than its own characters need, tried from the fullest:
 * first with every word whole, then with long words cut. Where there is none, the fullest.
 * @param formOf the parts in form 0, which is the fullest, to form `tightest`
 */
export function composedTightly(
  formOf: (form: number) => readonly string[],
  tightest: number,
  joint: string,
): string | readonly string[] {
  for (const mayCutWords of [false, true])
    for (let form = 0; form <= tightest; form++) {
      const answer = composedOnce(formOf(form), joint)
      if (isFewest(answer, mayCutWords)) return answer
    }
  return composed(formOf(0), joint)
}

const joined = (before: string, part: string, joint: string): string =>
  /[.?!]$/.test(before)
    ? `${before}${joint.endsWith(' ') ? ' ' : ''}${part}`
    : `${before}${joint}${part}`

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
