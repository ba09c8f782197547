import { informationOctetCountMax } from '../ax25/frame.js'
import { writeText } from './text.js'

/*
 * How much text one message holds. The reference counts 67 characters (ch. 14); since texts may be
 * UTF-8 (addendum 1.2), a character may be several octets, and the frame has its own limit.
 */

export const messageCharactersMax = 67

/** `:ADDRESSEE:` in front of the text. */
const headOctetCount = 11
/** `{`, and a line number of at most five characters, behind it. */
const tailOctetCount = 6
/** 239 */
const messageTextOctetCountMax = informationOctetCountMax - headOctetCount - tailOctetCount

/** Characters as the standard counts them: Unicode's, not octets and not the halves of a pair. */
export const characterCount = (text: string): number => [...text].length

/** True for a text that goes as one message. */
export const fitsMessage = (text: string, charactersMax = messageCharactersMax): boolean =>
  characterCount(text) <= charactersMax && writeText(text).length <= messageTextOctetCountMax

/** Why a text cannot be sent as one message; undefined when it can. */
export function messageTextProblem(text: string): string | undefined {
  const count = characterCount(text)
  if (count > messageCharactersMax) return `${count} characters: at most ${messageCharactersMax} go`
  const octetCount = writeText(text).length
  if (octetCount > messageTextOctetCountMax)
    return `${octetCount} octets: at most ${messageTextOctetCountMax} go`
  const forbidden = /[|~{\x00-\x1f\x7f]/.exec(text)
  if (forbidden !== null) return `the character '${forbidden[0]}' is not allowed`
  return undefined
}

const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' })

/**
 * As much of the beginning as fits one message: a letter keeps its marks, and a picture made of several
 * characters stays whole (Unicode Standard Annex 29), unless one of them alone is too long.
 */
export function beginningThatFits(text: string, charactersMax = messageCharactersMax): string {
  const fitting = (parts: Iterable<string>): string => {
    let kept = ''
    for (const part of parts) {
      if (!fitsMessage(kept + part, charactersMax)) break
      kept += part
    }
    return kept
  }
  if (fitsMessage(text, charactersMax)) return text
  // No character has more than two units, so that more than this need not be looked at.
  const looked = text.slice(0, 2 * charactersMax + 2)
  return fitting(Array.from(graphemes.segment(looked), ({ segment }) => segment)) || fitting(looked)
}

/** How many characters a text has to lose before it goes as one message; 0 when it does. */
export const excessCharacters = (text: string): number =>
  characterCount(text) - characterCount(beginningThatFits(text))

/** The text, or as much of it as fits one message with the mark behind it. */
export function shortenedText(text: string, mark = '..'): string {
  if (fitsMessage(text)) return text
  return `${beginningThatFits(text, messageCharactersMax - mark.length).trimEnd()}${mark}`
}
