import { beginningThatFits, fitsMessage, messageCharactersMax } from '../aprs/messageText.js'
import { airText, keptText } from './airText.js'
import type { Answer } from './service.js'

/** Messages of one answer unless its service asks for more. */
export const messagesMaxDefault = 3

/** At the end of a last message when the answer had more. */
const moreMark = '..'

export interface SplitOptions {
  /** characters of one message; 67 by the reference, 1 to 67 */
  readonly charactersMax?: number
  /** messages of the whole answer; what does not fit is cut, and marked so */
  readonly messagesMax?: number
  /** false: long words stay whole, also where that takes more messages than the characters do (true) */
  readonly mayCutWords?: boolean
}

/**
 * The messages that an answer goes out as. A string is split at word borders; each entry of a list begins a
 * message of its own, and entries are never joined. A word longer than a message is cut. Empty text gives no message.
 * @throws RangeError if an option is out of range
 */
export function splitAnswer(answer: Answer, options: SplitOptions = {}): string[] {
  const { charactersMax = messageCharactersMax, messagesMax = messagesMaxDefault } = options
  const { mayCutWords = true } = options
  if (!(charactersMax > moreMark.length && charactersMax <= messageCharactersMax))
    throw new RangeError(`charactersMax: got ${charactersMax}, expected 3 to 67`)
  if (!(messagesMax >= 1))
    throw new RangeError(`messagesMax: got ${messagesMax}, expected 1 or more`)
  const entries = typeof answer === 'string' ? [answer] : answer
  const messages = entries.flatMap((entry) => {
    const text = typeof entry === 'string' ? airText(entry) : keptText(entry.asSent)
    return splitText(text, charactersMax, mayCutWords)
  })
  if (messages.length <= messagesMax) return messages
  const kept = messages.slice(0, messagesMax)
  kept[messagesMax - 1] = markedAsCut(kept[messagesMax - 1]!, charactersMax)
  return kept
}

/**
 * Cut between things that belong together only where anything else takes more messages, and within a long word only where whole words
 * take more messages than the characters do.
 */
function splitText(text: string, charactersMax: number, mayCutWords: boolean): string[] {
  const units = unitsOf(text)
  const loose = splitWords(units, charactersMax)
  if (loose.length < 2) return loose
  if (mayCutWords && loose.length > Math.ceil(text.length / charactersMax)) {
    const within = splitWithin(units, charactersMax)
    if (within.length < loose.length) return within
  }
  const close = splitWords(sensesOf(units), charactersMax)
  return close.length > loose.length ? loose : close
}

/** Plain words, no names, that may be cut, with so many letters at least on each side. */
const cuttable = /^[a-z]{5,}[.,;:]*$/
const lettersKept = 2

/** As splitWords, but each message is filled with the beginning of the word that comes next, where that is a plain long one. */
function splitWithin(words: readonly string[], charactersMax: number): string[] {
  const messages: string[] = []
  let line = ''
  for (const word of words) {
    const longer = line === '' ? word : `${line} ${word}`
    if (line === '' || fitsMessage(longer, charactersMax)) {
      line = longer
      continue
    }
    const room = charactersMax - line.length - 1
    const most = word.replace(/[.,;:]+$/, '').length - lettersKept
    if (cuttable.test(word) && room >= lettersKept && most >= lettersKept) {
      const kept = Math.min(room, most)
      messages.push(`${line} ${word.slice(0, kept)}`)
      line = word.slice(kept)
    } else {
      messages.push(line)
      line = word
    }
  }
  return [...messages, line].flatMap((one) => splitWords(one.split(' '), charactersMax))
}

/** Greedy, which is also the fewest messages for words that stay whole. */
function splitWords(words: readonly string[], charactersMax: number): string[] {
  const messages: string[] = []
  let line = ''
  for (const word of words) {
    if (word === '') continue
    if (line !== '' && !fitsMessage(`${line} ${word}`, charactersMax)) {
      messages.push(line)
      line = ''
    }
    line = line === '' ? word : `${line} ${word}`
    while (!fitsMessage(line, charactersMax)) {
      const part = beginningThatFits(line, charactersMax)
      messages.push(part)
      line = line.slice(part.length)
    }
  }
  if (line !== '') messages.push(line)
  return messages
}

/** Units, and what is counted, in all languages. */
const unit =
  /^(m|km|mi|ft|mm|in|Hz|kHz|MHz|dB|dBFS|dBm|C|F|%|hPa|km\/h|mph|deg|W|V|A|Ah|s|min|h|d|j|g|ppm|frames?|Pakete?|trames?|tramas?|pacchett[oi])[.,;:)]*$/

/** Words between which a message may end: a number is not parted from its unit. */
function unitsOf(text: string): string[] {
  const units: string[] = []
  for (const word of text.split(' ')) {
    const last = units.at(-1)
    if (last !== undefined && unit.test(word) && /^[-+(~]*\d[\d.,:]*$/.test(last))
      units[units.length - 1] = `${last} ${word}`
    else units.push(word)
  }
  return units
}

/** What stands before a figure and is nothing without it, in all languages. */
const label = new RegExp(
  `(^| )(${[
    ...[
      'wind',
      'gust',
      'rain',
      'humidity',
      'tone',
      'DCS',
      'Downlink',
      'dawn',
      'rise',
      'set',
      'dusk',
    ],
    ...[
      'top',
      'within',
      'Wind',
      'Boeen',
      'Regen',
      'Feuchte',
      'Ton',
      'hell',
      'auf',
      'unter',
      'dunkel',
    ],
    ...['hoch', 'vor', 'vent', 'rafales', 'pluie', 'humidite', 'ton', 'Descente', 'aube', 'lever'],
    ...[
      'coucher',
      'nuit',
      'haut',
      'viento',
      'rachas',
      'lluvia',
      'humedad',
      'tono',
      'Bajada',
      'alba',
    ],
    ...[
      'sale',
      'pone',
      'noche',
      'alto',
      'hace',
      'vento',
      'raffiche',
      'pioggia',
      'umidita',
      'Discesa',
    ],
    ...['sorge', 'cala', 'buio', 'entro'],
    ...['leve', 'couche', 'fin', 'CTCSS', 'max', 'puesta'],
  ].join('|')})$`,
)
const distance = /(^| )\d[\d.,]*(m|km|mi|km\/h|mph)$/
const direction = /^([NS]|[EWO]|[NS][EWO]|[NS][NS][EWO]|[EWO][NS][EWO])[.,;:)]*$/
/** 'of you', in all languages; after a distance with its direction. */
const from = /^(of|von|vom|de|du|del|da|dal)$/
const endsWithFrom = / (of|von|vom|de|du|del|da|dal)$/

/** 'wind 18km/h NW', 'dawn 04:12' and '12km NE of you' in one piece each. */
function sensesOf(units: readonly string[]): string[] {
  const senses: string[] = []
  for (const word of units) {
    const last = senses.at(-1)
    const belongs =
      last !== undefined &&
      ((label.test(last) && /^\d/.test(word)) ||
        (distance.test(last) && direction.test(word)) ||
        (/\d\S* [NESWO]+$/.test(last) && from.test(word)) ||
        endsWithFrom.test(last))
    if (belongs) senses[senses.length - 1] = `${last} ${word}`
    else senses.push(word)
  }
  return senses
}

function markedAsCut(message: string, charactersMax: number): string {
  let kept = message
  while (!fitsMessage(kept + moreMark, charactersMax)) {
    const blank = kept.lastIndexOf(' ')
    kept =
      blank > 0 ? kept.slice(0, blank) : beginningThatFits(kept, charactersMax - moreMark.length)
  }
  return `${kept}${moreMark}`
}
