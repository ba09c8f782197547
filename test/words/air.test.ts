import { describe, expect, it } from 'vitest'
import { languageOf } from '../../src/services/asking/languageOf.js'
import { standardVocabulary } from '../../src/services/asking/vocabulary.js'
import { dispatch } from '../../src/services/dispatch.js'
import type { Service } from '../../src/services/service.js'
import { airTextsOf } from '../../src/words/air/all.js'
import { type AirTexts, airLanguages } from '../../src/words/air/texts.js'
import { testContext } from '../services/testContext.js'

/** The longest that the data allows. */
const call = 'N0CALL-15'
const keyword = 'twelve-char1'
const word = 'fourteenletters..'.slice(0, 16)

const longest: { readonly [Name in keyof AirTexts]: (texts: AirTexts) => readonly string[] } = {
  hello: (texts) => heardsOf(texts).map((heard) => texts.hello(call, heard)),
  thanks: (texts) => heardsOf(texts).map((heard) => texts.thanks(call, heard)),
  cancelled: (texts) => [texts.cancelled],
  heardDirect: (texts) => [texts.heardDirect],
  heardDirectWith: (texts) => [texts.heardDirectWith(-10)],
  heardVia: (texts) => [texts.heardVia(call)],
  absent: (texts) => [texts.absent(keyword)],
  offer: (texts) => [texts.offer(word, 'repeaters N [band, mode, place]')],
  or: (texts) => [texts.or],
  notKnown: (texts) => [texts.notKnown(word.slice(0, 16), 'help, repeaters')],
  failed: (texts) => [texts.failed(keyword)],
  next: (texts) => [texts.next(keyword)],
  sendPosition: (texts) => [texts.sendPosition],
  askElsewhere: (texts) => [texts.askElsewhere(call, '99min')],
}
const heardsOf = (texts: AirTexts): string[] => [
  '',
  texts.heardDirect,
  texts.heardDirectWith(99),
  texts.heardVia('N0DIGI-15'),
]

describe.each(airLanguages)('texts in %s', (language) => {
  const texts = airTextsOf(language)
  it('none is missing, each fits a message and is plain, and none parts a number from its unit', () => {
    for (const [name, told] of Object.entries(longest))
      for (const text of told(texts)) {
        expect(text.trim(), name).not.toBe('')
        expect(text.length, `${name}: ${text}`).toBeLessThanOrEqual(67)
        expect(text, name).toMatch(/^[ -z]+$/)
      }
    expect(texts.heardDirectWith(21)).toMatch(/21 dB$/)
  })

  it('are in that language, and name what may be sent as it is sent', () => {
    if (language !== 'en')
      for (const name of ['cancelled', 'sendPosition'] as const)
        expect(texts[name]).not.toBe(airTextsOf('en')[name])
    expect(texts.hello(call, '')).toMatch(/help$/)
    expect(texts.absent('sun')).toMatch(/sun.*help/)
    expect(texts.notKnown('x', '')).not.toMatch(/ \.|\s$/)
  })
})

describe('the language of a question', () => {
  it.each([
    ['Wie ist das Wetter?', 'de'],
    ['quelle est la météo', 'fr'],
    ['qué tiempo hace', 'es'],
    ['che tempo fa', 'it'],
    ['what is the weather like', 'en'],
    ['Guten Abend', 'de'],
    ['bonjour', 'fr'],
    ['gracias', 'es'],
    ['grazie mille', 'it'],
    ['repeaters 2', undefined],
    ['N0CALL-7', undefined],
    ['', undefined],
  ])('%s: %s', (text, language) => {
    expect(languageOf(text, standardVocabulary)).toBe(language)
  })

  const broken: Service = {
    ...{ keyword: 'conditions', summary: '', usage: '' },
    answer: () => {
      throw new Error('no data')
    },
  }
  const told = async (text: string, language?: 'de' | 'fr') =>
    (
      await dispatch(
        { id: text, from: 'N0CALL-7', text },
        { services: [broken] },
        testContext({ language }),
      )
    ).messages[0]

  it('is that of the answer; else the station has one of its own', async () => {
    expect(await told('bonjour')).toMatch(/^Bonjour N0CALL-7/)
    expect(await told('wie ist das wetter', 'fr')).toMatch(/^conditions geht hier gerade/)
    expect(await told('conditions', 'fr')).toMatch(/^Desole, conditions/)
    expect(await told('conditions')).toMatch(/^Sorry, conditions/)
    expect(await told('xyzzy', 'de')).toMatch(/^"xyzzy" kenne ich nicht/)
  })
})
