import { keptText } from '../../services/airText.js'
import type { Wording } from '../../words/air/wording.js'
import type { Letters } from './letters.js'

/** A letter while it is typed. */
export interface LetterWriting {
  /** @returns what to say, and whether the letter is over: kept, or dropped */
  line(text: string): { readonly lines: readonly string[]; readonly over: boolean }
}

/** Ends a letter, alone on a line: a dot, as in RFC 5321, section 4.5.2, or Ctrl-Z. */
const endLines = new Set(['.', '\u001a'])
const dropLine = '/drop'
const subjectMax = 60

/** @param to as letters are kept for it */
export function letterWriting(
  letters: Letters,
  from: string,
  to: string,
  subject: string,
  onKept: (id: number, octetCount: number) => void,
  { say }: Wording,
): LetterWriting {
  const lines: string[] = []
  let title = keptText(subject).slice(0, subjectMax)
  let octetCount = 0
  let tooLong = false

  const finish = (): string[] => {
    if (tooLong) return [say('letterLonger', { most: letters.octetsMax })]
    const text = lines.join('\n').trim()
    if (text === '') return [say('letterEmpty')]
    const kept = letters.leave({ from, to, subject: title, text })
    if (!kept.ok) return [say('letterNotKept', { reason: kept.reason })]
    onKept(kept.id, octetCount)
    return [say('letterKept', { number: kept.id, call: to, count: octetCount })]
  }

  return {
    line(text) {
      const word = text.trim().toLowerCase()
      if (word === dropLine) return { lines: [say('dropped')], over: true }
      if (title === '') {
        title = keptText(text).slice(0, subjectMax)
        return title === ''
          ? { lines: [say('subject')], over: false }
          : {
              lines: [say('textNow')],
              over: false,
            }
      }
      if (endLines.has(word)) return { lines: finish(), over: true }
      octetCount += new TextEncoder().encode(text).length + 1
      if (octetCount <= letters.octetsMax) {
        lines.push(text)
        return { lines: [], over: false }
      }
      const first = !tooLong
      tooLong = true
      lines.length = 0
      return {
        lines: first ? [say('letterTooLong', { most: letters.octetsMax })] : [],
        over: false,
      }
    },
  }
}
