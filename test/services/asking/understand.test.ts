import { describe, expect, it } from 'vitest'
import { lettersWrong } from '../../../src/services/asking/distance.js'
import { oneLetterWords } from '../../../src/services/asking/findMeanings.js'
import { fold, foldSpelled } from '../../../src/services/asking/fold.js'
import { tokensOf, withoutArticles } from '../../../src/services/asking/tokens.js'
import { understand } from '../../../src/services/asking/understand.js'
import { createVocabulary, standardVocabulary } from '../../../src/services/asking/vocabulary.js'
import type { Service } from '../../../src/services/service.js'
import { languages } from '../../../src/words/synonyms/all.js'
import { phrasesOf } from '../../../src/words/synonyms/language.js'

const texts = ['leave', 'post', 'find']
const service = (keyword: string, more: Partial<Service> = {}): Service => ({
  ...{ keyword, summary: keyword, usage: `${keyword} X`, answer: () => keyword },
  ...(texts.includes(keyword) ? { takes: 'text' as const } : {}),
  ...more,
})
const services = [
  ...['help', 'repeaters', 'conditions', 'pass', 'sun', 'heard', 'where', 'signal', 'leave'],
  ...[
    'back',
    'tell',
    'reply',
    'mail',
    'roll',
    'confirmed',
    'collect',
    'board',
    'post',
    'find',
    'clock',
    'bulletins',
  ],
].map((keyword) =>
  service(keyword, {
    recognises: (words) => keyword === 'pass' && /^fieldlark/i.test(words.join(' ')),
  }),
)
const meant = (text: string, offered = services, vocabulary = standardVocabulary): string => {
  const found = understand(text, { services: offered, vocabulary })
  if (found.kind !== 'service') return found.kind === 'greeting' ? found.sort : found.kind
  const said = found.service.takes === 'text' ? [found.rest] : found.words
  return [found.service.keyword, ...said].join(' ').trim()
}

describe('what people send', () => {
  it.each([
    // the word alone, with punctuation, with politeness, in any case
    ['weather', 'conditions'],
    ['WX?', 'conditions'],
    ['Météo, s.v.p. !', 'conditions'],
    ['wetter bitte', 'conditions'],
    ['¿el tiempo, por favor?', 'conditions'],
    ['repeaters,2', 'repeaters 2'],
    ['repeaters 2.', 'repeaters 2'],
    ['"repeaters 2"', 'repeaters 2'],
    ['Repeaters2?', 'repeaters 2'],
    ['rep 2', 'repeaters 2'],
    ['r2', 'repeaters 2'],
    ['please send me 3 repeaters 70cm', 'repeaters me 3 70cm'],
    ['', 'help'],
    ['?!', 'help'],
    // umlauts left out and spelled
    ['nachstes relais', 'repeaters'],
    ['naechstes relais', 'repeaters'],
    // sentences
    ['where is the nearest repeater?', 'repeaters'],
    ['wo ist der nächste Umsetzer', 'repeaters'],
    ['dov’è il ponte più vicino?', 'repeaters'],
    ['où est le relais le plus proche ?', 'repeaters'],
    ['wann geht die Sonne unter', 'sun'],
    ['à quelle heure est le coucher du soleil demain', 'sun tomorrow'],
    ['sonnenuntergang am 21. Juni', 'sun 21 jun'],
    ['is there any mail for me', 'collect'],
    ['hast du Post für mich', 'collect node'],
    ['where is N0CALL-9?', 'where N0CALL-9'],
    ['wo ist N0CALL-9', 'where N0CALL-9'],
    ['where am I', 'where me'],
    ['dónde estoy', 'where me'],
    ['when is the next ISS pass', 'pass iss next'],
    ['full moon?', 'sun moon'],
    ['who', 'heard'],
    ['chi c’è', 'heard'],
    ['how do you hear me', 'signal'],
    // a person's own text stays as it is
    ['leave N0CALL-9 Please bring the maps', 'leave N0CALL-9 Please bring the maps'],
    ['nachricht an N0CALL-9: bin im Tal', 'leave N0CALL-9: bin im Tal'],
    ['leave a message for N0CALL-9 I am late', 'leave N0CALL-9 I am late'],
    ['msg N0CALL-9 weather is fine', 'leave N0CALL-9 weather is fine'],
    ['post Hut is open, thanks', 'post Hut is open, thanks'],
    // arguments alone
    ['2', 'offer'],
    ['DMR', 'repeaters DMR'],
    ['AO-91', 'pass AO-91'],
    ['cancel', 'cancel'],
    ['abbrechen!', 'cancel'],
    ['145.725', 'repeaters 145.725'],
    ['70cm', 'repeaters 70cm'],
    ['N0CALL-9', 'heard N0CALL-9'],
    ['HN15pf', 'where HN15pf'],
    ['fieldlark tomorrow', 'pass fieldlark tomorrow'],
    // mistyped
    ['repaeters 3', 'repeaters 3'],
    ['wether', 'conditions'],
    ['mornig', 'hello'],
    ['laeve N0CALL-9 I come', 'offer'],
    // greetings and thanks
    ['hello', 'hello'],
    ['Guten Morgen!', 'hello'],
    ['ping', 'hello'],
    ['test 1 2 3', 'hello'],
    ['73', 'thanks'],
    ['danke und 73', 'thanks'],
    ['thanks for the weather', 'thanks'],
    ['danke, und das wetter?', 'conditions'],
    ['lorem dolor', 'nothing'],
  ])('%s', (text, expected) => {
    expect(meant(text)).toBe(expected)
  })

  it('every word of every language means what its file says, alone and with punctuation', () => {
    for (const { strong } of languages)
      for (const [meaning, list] of Object.entries(strong))
        for (const phrase of phrasesOf(list)) {
          const [keyword] = meaning.split(' ')
          const words = tokensOf(phrase).map(({ folded }) => folded)
          const wins = standardVocabulary.meanings.get(withoutArticles(words.join(' ')))
          // 'post' is mail in German, and the keyword of the board: that wins.
          const expected = services.some((one) => one.keyword === phrase) ? phrase : wins!.keyword
          expect(meant(phrase).split(' ')[0], `${phrase} of ${keyword}`).toBe(expected)
          expect(meant(`${phrase.toUpperCase()}!`).split(' ')[0]).toBe(expected)
        }
  })

  it('a keyword is its service whatever else is in the language files', () => {
    for (const { keyword } of services) {
      expect(meant(keyword).split(' ')[0]).toBe(keyword)
      expect(meant(`${keyword} N0CALL-9`).split(' ')[0]).toBe(keyword)
    }
  })

  it.each(Object.entries(oneLetterWords))('one letter: %s is %s', (letter, keyword) => {
    expect(meant(letter)).toBe(keyword)
    expect(meant(`${letter.toUpperCase()}?`)).toBe(keyword)
  })
  it('no other letter means anything', () => {
    for (const letter of 'adeijkouvxyz') expect(meant(letter)).toBe('nothing')
  })

  it('a word that begins several keywords gets them offered', () => {
    const found = understand('he', { services, vocabulary: standardVocabulary })
    expect(found).toMatchObject({
      kind: 'offer',
      services: [{ keyword: 'help' }, { keyword: 'heard' }],
    })
  })
})

describe("the club's words", () => {
  it('an own service wins over every synonym', () => {
    const own = [...services, service('wetter'), service('news', { takes: 'text' })]
    expect(meant('Wetter morgen', own)).toBe('wetter tomorrow')
    expect(meant('news please', own)).toBe('news please')
    expect(meant('weather', own)).toBe('conditions')
  })
  it('a configured word wins over those of the languages', () => {
    const vocabulary = createVocabulary({ hut: 'find hut', wx: 'board', Rückweg: 'where node' })
    expect(meant('Hut?', services, vocabulary)).toBe('find hut')
    expect(meant('wx', services, vocabulary)).toBe('board')
    expect(meant('rueckweg', services, vocabulary)).toBe('where node')
    expect(meant('wx')).not.toBe('board')
  })
  it('of two configured ones the first counts, and a long phrase is found', () => {
    const longest = 'is there any snow up at the old hut now'
    const vocabulary = createVocabulary({ Hütte: 'find hut', hütte: 'board', [longest]: 'board' })
    expect(meant('huette', services, vocabulary)).toBe('find hut')
    expect(meant(longest, services, vocabulary)).toBe('board')
    expect(vocabulary.phraseMax).toBeGreaterThan(standardVocabulary.phraseMax)
  })
  it('without configured words the languages are read once', () => {
    expect(createVocabulary()).toBe(standardVocabulary)
    expect(createVocabulary({ hut: 'find hut' }).arguments).toBe(standardVocabulary.arguments)
  })
  it('what is not offered is said to be so', () => {
    const few = services.filter(({ keyword }) => keyword !== 'conditions')
    expect(meant('weather', few)).toBe('absent')
  })
})

describe('a name with one service', () => {
  const only = (keyword: string, text: string) => {
    const one = services.filter((service) => service.keyword === keyword)
    const found = understand(text, { services: one, vocabulary: standardVocabulary, only: true })
    if (found.kind !== 'service') return found.kind
    return [...(found.service.takes === 'text' ? [found.rest] : found.words)].join(' ')
  }
  it.each([
    ['repeaters', '3', '3'],
    ['repeaters', 'n 3', '3'],
    ['repeaters', 'R3', '3'],
    ['repeaters', 'repeaters 3 70cm', '3 70cm'],
    ['repeaters', 'relais 3', '3'],
    ['repeaters', 'hello', ''],
    ['repeaters', 'HN15pf', 'HN15pf'],
    ['conditions', 'Coldwell please', 'Coldwell'],
    ['conditions', '?', ''],
    ['repeaters', 'hilfe', 'usage'],
    ['find', 'water at the hut', 'water at the hut'],
    ['find', 'find water', 'water'],
  ])('%s: %s', (keyword, text, expected) => {
    expect(only(keyword, text)).toBe(expected)
  })
})

describe('the parts', () => {
  it('folds case, accents and letters that are two', () => {
    expect(fold('GRÖSSE Straße Ærø Łódź Ñandú')).toBe('grosse strasse aero lodz nandu')
    expect(foldSpelled('Nächste Überflüge')).toBe('naechste ueberfluege')
  })
  it('takes punctuation off, and leaves numbers, times, calls and dates whole', () => {
    const raw = (text: string) => tokensOf(text).map((token) => token.raw)
    expect(raw('"repeaters,2" at 145,725 / 12:30; N0CALL-7. 21.6.2026')).toEqual([
      ...['repeaters', '2', 'at', '145,725', '12:30', 'N0CALL-7', '21.6.2026'],
    ])
    expect(raw('45.2,-36.8')).toEqual(['45.2', '-36.8'])
    expect(raw("l'heure s'il te plaît what's")).toEqual([
      'l',
      'heure',
      's',
      'il',
      'te',
      'plaît',
      "what's",
    ])
    expect(raw('  …  ')).toEqual([])
  })
  it('counts wrong letters up to a limit', () => {
    expect(lettersWrong('repeaters', 'repaeters', 2)).toBe(1)
    expect(lettersWrong('weather', 'wether', 2)).toBe(1)
    expect(lettersWrong('sun', 'moon', 1)).toBe(2)
    expect(lettersWrong('', 'abc', 5)).toBe(3)
  })
})

describe('a keyword with a hyphen', () => {
  const offered = [...services, service('check-in'), service('net-3-list')]
  it.each([
    ['check-in', 'check-in'],
    ['Check-In!', 'check-in'],
    ['check in', 'check-in'],
    ['checkin', 'check-in'],
    ['net-3-list', 'net-3-list'],
    ['check', 'hello'],
  ])('%s', (text, what) => {
    expect(meant(text, offered)).toBe(what)
  })
})
