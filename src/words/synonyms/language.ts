import type { AirLanguage } from '../air/texts.js'

/**
 * What people of one language call things. Each text is a list of words and phrases with commas between them. They may have
 * accents; case, accents and punctuation are folded away before they are compared, with umlauts both ways (ä is a and ae).
 */
export interface LanguageSynonyms {
  readonly language: AirLanguage
  /** by what is meant, a keyword and perhaps its arguments: the words that mean it wherever they stand in a text */
  readonly strong: Readonly<Record<string, string>>
  /** the same, for words that mean it only where no strong one stands beside them */
  readonly weak: Readonly<Record<string, string>>
  readonly greetings: string
  readonly thanks: string
  /** wants nothing more */
  readonly cancel: string
  /** what an argument is called; the key is the word that services know */
  readonly arguments: Readonly<Partial<Record<ArgumentWord, string>>>
  /** two to ten, each with its other forms behind slashes; what is another word besides is left out */
  readonly numbers: string
  /** Sunday first, each with its short forms behind slashes */
  readonly weekdays: string
  /** January first, likewise */
  readonly months: string
  /** what people look for on the way, by what it is: cards in any language are found by them */
  readonly topics: Readonly<Record<Topic, string>>
  /** verbs that beside a word for the board mean a notice of one's own */
  readonly putting: string
  /** verbs that beside a call sign mean a message to it */
  readonly sending: string
  /** parts of names of bands, each with its other forms behind slashes: seventy, metre, centimetre */
  readonly bands: string
  /** what a word or phrase does in a sentence, whatever the sentence is about */
  readonly roles: Readonly<Record<Role, string>>
  /** politeness, articles, prepositions, and the verbs that questions are made with: left out of arguments */
  readonly ignored: string
}

export type Topic =
  | 'water'
  | 'food'
  | 'camp'
  | 'bed'
  | 'bus'
  | 'aid'
  | 'toilet'
  | 'power'
  | 'parking'
  | 'path'
  | 'avalanche'
  | 'net'

/**
 * What words do in a sentence: `back` is of coming back or being heard, `others` somebody who is not the asker, `tellMe` and `tell` who is
 * to be told, `delivered` only of messages, `arrived` of anything, `safe` that the asker is back, `before` what a time stands behind,
 * `unwanted` begins a refusal of `updates` (what a node may send unasked), `left` what somebody did with a message, `let` and `that` are
 * of 'let CALL know that', `way` and `state` of a road and whether it is open, `again` asks for the last answer once more, `runner` is
 * somebody with a number, `lost` that the asker is, `cry` a call for help, `noEmergency` that there is none, `presence` somebody at a post,
 * `switching` what the node lets nobody switch, `returns` when the asker is back, `extends` that this is later, `otherwise` what else is to be
 * done, `booking` what cannot be done here, `ask` a question to another, `how` a question for the way to do something,
 * `worried` what somebody feels who waits for another.
 */
export type Role =
  | 'if'
  | 'not'
  | 'back'
  | 'others'
  | 'tell'
  | 'tellMe'
  | 'when'
  | 'past'
  | 'mine'
  | 'message'
  | 'delivered'
  | 'arrived'
  | 'asks'
  | 'orNot'
  | 'forMe'
  | 'watch'
  | 'off'
  | 'safe'
  | 'seen'
  | 'notice'
  | 'sale'
  | 'before'
  | 'unwanted'
  | 'updates'
  | 'everybody'
  | 'someone'
  | 'left'
  | 'let'
  | 'that'
  | 'way'
  | 'state'
  | 'again'
  | 'runner'
  | 'lost'
  | 'cry'
  | 'noEmergency'
  | 'presence'
  | 'switching'
  | 'returns'
  | 'extends'
  | 'otherwise'
  | 'booking'
  | 'ask'
  | 'how'
  | 'worried'

type ArgumentWord =
  | 'today'
  | 'tonight'
  | 'tomorrow'
  | 'overmorrow'
  | 'days'
  | 'hours'
  | 'sat'
  | 'next'
  | 'all'
  | 'me'
  | 'here'
  | 'node'
  | 'more'

/** The words and phrases of a list. */
export const phrasesOf = (list: string): readonly string[] =>
  list
    .split(',')
    .map((phrase) => phrase.trim())
    .filter((phrase) => phrase !== '')
