import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { understand } from '../../src/services/asking/understand.js'
import { standardVocabulary } from '../../src/services/asking/vocabulary.js'
import { parseCall } from '../../src/services/callWords.js'
import { parseCsvCards, parseMarkdownCards } from '../../src/services/cards/parseCards.js'
import { foldHeader } from '../../src/services/data/columns.js'
import { parseAngle } from '../../src/services/data/figures.js'
import { findService } from '../../src/services/find.js'
import {
  elementSets,
  formOfElements,
  loadedElements,
} from '../../src/services/sky/parseElements.js'
import { parseSentence } from '../../src/services/weather/sentences.js'

/*
 * Text of frames and files that a regular expression might look at again from each of its characters. In time that grows with
 * the length each case takes some milliseconds; in time that grows with its square, many times what a test may take.
 */
const length = 200_000
const many = (piece: string): string => piece.repeat(Math.ceil(length / piece.length))

const payloadOf = (text: string): void => {
  parsePayload(new TextEncoder().encode(text), 'APZ001')
}
const cardOf = (text: string): void => {
  parseMarkdownCards(text, 'card.md')
}
const asked = (text: string): unknown =>
  understand(text, {
    services: [findService({ cards: () => undefined })],
    vocabulary: standardVocabulary,
  })
const elementsOf = (text: string): void => {
  const form = formOfElements(text)
  loadedElements(elementSets(text, form), form)
}

const cases: readonly [what: string, read: (text: string) => unknown, text: string][] = [
  ['payload: line ends that are none', payloadOf, `>${many('\r')}x`],
  ['payload: weather bulletin of braces', payloadOf, `:NWS-WARN :${many('{')}\x01`],
  ['payload: query of braces and blanks', payloadOf, `:N0DE-10  :?APRSD${many('{1 ')}x`],
  ['payload: sentence of blanks', payloadOf, `$GPGGA,${many(' ')}*ZZ`],
  ['payload: telemetry of bars', payloadOf, `!4903.50N/07201.75W>${many('|!!')}|x`],
  ['payload: weather', payloadOf, `_10090556${many('c...')}`],
  ['payload: third party', payloadOf, `}N0CALL>APZ001${many(',A')}`],
  ['card: heading of blanks', cardOf, `# ${many(' ')}x`],
  ['card: heading of blanks only', cardOf, `#${many(' ')}`],
  ['card: heading of hashes', cardOf, `# a ${many('#')}b`],
  ['card: comments that do not end', cardOf, many('<!--')],
  ['card: pictures that do not end', cardOf, many('![')],
  ['card: links that do not end', cardOf, many('[')],
  ['card: link targets that do not end', cardOf, many('[]( ')],
  ['card: rule of a table', cardOf, `${many('|')}x`],
  ['card: row of a table', cardOf, `|${many(' |')}x`],
  ['card: row of blanks', cardOf, `|${many(' ')}x`],
  ['card: emphasis', cardOf, many(' *a')],
  ['card: emphasis by lines under', cardOf, many(' _a')],
  ['card: strong', cardOf, many('**a__b`')],
  ['card: list of marks', cardOf, many('. ;')],
  ['card: keywords', cardOf, `keywords:${many(' ')}x`],
  ['card: blanks before a keyword', cardOf, `${many(' ')}x`],
  ['card: cell of blanks', (text) => parseCsvCards(text, 'a.csv'), `title,text\n${many(' ')}x,y`],
  ['elements: value of blanks', elementsOf, `OBJECT_NAME = A${many(' ')}x`],
  ['elements: value of brackets', elementsOf, `OBJECT_NAME = ${many('[')}`],
  ['elements: comments that do not end', elementsOf, `<omm>${many('<!--')}`],
  ['elements: tags that do not end', elementsOf, `<omm>${many('<A ')}`],
  ['elements: messages that do not end', elementsOf, many('<omm ')],
  ['elements: objects that do not end', elementsOf, many('{"a":')],
  ['elements: a string that does not end', elementsOf, `[{"${many('\\\\"')}`],
  ['header of brackets', foldHeader, many('(')],
  ['angle of blanks', (text) => parseAngle(text, 'NS'), `1${many(' ')}x`],
  ['sentence of an instrument', parseSentence, `$WIMWV,${many(' ')}*ZZ`],
  ['question of punctuation', asked, `${many('!')}a`],
  ['question of punctuation inside', asked, `a${many('!')}a!`],
  ['question of letters', asked, many('ab ')],
  ['question of blanks', asked, `a${many(' ')}b`],
  ['call of punctuation', parseCall, `${many('!')}a`],
  [
    'topic of blanks',
    (text) => findService({ cards: () => undefined }).messagesMax!({ rest: text } as never),
    `${many(' ')}x`,
  ],
]

describe('time grows with the length, not with its square', () => {
  it.each(cases)('%s', (_what, read, text) => {
    expect(text.length).toBeGreaterThanOrEqual(length)
    read(text)
  })
})
