import { describe, expect, it } from 'vitest'
import { reservedKeywords } from '../../src/services/all.js'
import { languageOf } from '../../src/services/asking/languageOf.js'
import { standardVocabulary } from '../../src/services/asking/vocabulary.js'
import { dispatch } from '../../src/services/dispatch.js'
import type { Service } from '../../src/services/service.js'
import { standardWordings } from '../../src/words/air/all.js'
import { missingTexts, textProblems } from '../../src/words/air/checkTexts.js'
import { english } from '../../src/words/air/english/all.js'
import { french } from '../../src/words/air/french/all.js'
import { german } from '../../src/words/air/german/all.js'
import { italian } from '../../src/words/air/italian/all.js'
import { spanish } from '../../src/words/air/spanish/all.js'
import { type AirTexts, airLanguages, type TextName } from '../../src/words/air/texts.js'
import { bracesIn } from '../../src/words/air/wording.js'
import { testContext } from '../services/testContext.js'

const languages: Readonly<Record<(typeof airLanguages)[number], AirTexts>> = {
  ...{ en: english, de: german, fr: french, es: spanish, it: italian },
}
const names = Object.keys(english) as TextName[]

/** Texts that are said alike in that language, or that hold keywords only. */
const alike =
  /^(usage|decimalSign|months|weekdays|compass|minutes|hours|days|direct|via|dcs|oneFrame|figures9600)/

describe.each(airLanguages)('texts in %s', (language) => {
  const texts = languages[language]
  const wording = standardWordings.of(language)

  it('none is missing, and each has every fact and fits a message with the longest names and numbers', () => {
    expect(missingTexts(texts)).toEqual([])
    expect(textProblems(texts, wording)).toEqual([])
  })

  it('are plain ASCII, without a blank too many, and none parts a number from its unit', () => {
    for (const name of names) {
      expect(texts[name], name).toMatch(/^[ -z]*\{?[ -}]*$/)
      expect(texts[name], name).not.toMatch(/ {2}| $|[^ -~]/)
      // A figure stands at its unit, or before one that the splitter knows.
      expect(texts[name], name).not.toMatch(/\} (min|h|d|km|m|deg|MHz|mm|C|F|%)\b/)
    }
  })

  it('are in that language', () => {
    if (language === 'en') return
    const same = names.filter((name) => texts[name] === english[name] && !alike.test(name))
    expect(same.filter((name) => texts[name].replace(/\{\w+\}/g, '').match(/[a-z]{4}/))).toEqual([])
  })

  it('name what may be sent as it is sent', () => {
    const keywords = [
      ...standardVocabulary.keywords,
      ...[...reservedKeywords, 'hold', 'release', 'state', 'tactical'],
    ]
    for (const name of names.filter((one) => one.startsWith('usage'))) {
      const [keyword = ''] = texts[name].split(' ')
      expect(english[name].split(' ')[0], name).toBe(keyword)
      expect(keywords, name).toContain(keyword)
    }
    for (const name of ['leaveExample', 'whereSend', 'boardEmpty', 'hello', 'cancelled'] as const)
      for (const keyword of ['leave', 'where', 'post', 'help'])
        expect(texts[name].includes(keyword), `${name} ${keyword}`).toBe(
          english[name].includes(keyword),
        )
  })

  it('writes figures as the language does', () => {
    expect(wording.decimal(146.94)).toBe(language === 'en' ? '146.94' : '146,94')
    expect(wording.listed('compass', 2)).toBe(language === 'de' ? 'NO' : 'NE')
    expect(wording.listed('compass', 14)).toBe({ en: 'NW', de: 'NW' }[language as 'en'] ?? 'NO')
  })
})

describe('a wording', () => {
  const { say, find } = standardWordings.of('de')
  it('fills each brace once, whatever a person wrote into it', () => {
    expect(say('offer', { word: '{what}', what: '$& {word}' })).toBe('{what}? Sende $& {word}.')
  })
  it('knows no name but its own', () => {
    expect(find('usageHeard')).toBe('heard [CALL oder N]')
    expect(find('toString')).toBeUndefined()
  })
  it('of an unknown language is English', () => {
    expect(standardWordings.of('xx').say('tomorrow')).toBe('tomorrow')
  })
})

describe('what is wrong with a text', () => {
  const wording = standardWordings.of('de')
  it.each([
    ['nosuch', 'x', /no text of this name/],
    ['notHeard', 'nicht da', /\{call\} is left out/],
    ['notHeard', '{call} {age}', /\{age\} means nothing here/],
    ['notHeard', `{call} ${'x'.repeat(60)}`, /70 octets at its longest/],
    ['noTopics', `${'\u00e4'.repeat(34)}`, /68 octets/],
    ['months', 'a,b', /got 2 words/],
    ['decimalSign', ';', /expected/],
    ['noTopics', 'a|b', /no \|/],
    ['noTopics', ' ', /empty/],
    [
      'doesNotRise',
      '{name} bleibt {place} {span} ganz und gar unter {elevation}deg.',
      /at its longest/,
    ],
    ['letterWaits', `{call} {count} ${'x'.repeat(52)}`, /68 octets at its longest/],
    ['elementsOld', `{name} {age}. {limit} ${'x'.repeat(63)}`, /at its longest/],
  ])('%s = %s', (name, text, problem) => {
    expect(textProblems({ [name]: text }, wording)[0]).toMatch(problem)
  })
  it('English has its braces right', () => {
    expect(bracesIn(english.doesNotRise)).toEqual(['name', 'elevation', 'place', 'span'])
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
    ['pass next', undefined],
    ['73', undefined],
    ['sun moon', undefined],
    ['mail cancel 3', undefined],
    ['next pass of the moon', 'en'],
    ['sun moon morgen', 'de'],
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
