import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { messageCharactersMax, messageTextProblem } from '../../src/aprs/messageText.js'
import { airText, keptText } from '../../src/services/airText.js'
import { composed, composedTightly } from '../../src/services/compose.js'
import { splitAnswer } from '../../src/services/splitAnswer.js'
import { createWordings } from '../../src/words/air/all.js'
import { airLanguages } from '../../src/words/air/texts.js'

describe('splitAnswer', () => {
  it('leaves a text that fits alone, and 67 characters fit', () => {
    expect(splitAnswer('x'.repeat(67))).toEqual(['x'.repeat(67)])
    expect(splitAnswer('two words')).toEqual(['two words'])
  })

  it('breaks at the last blank before the limit', () => {
    const text = `${'a'.repeat(40)} ${'b'.repeat(26)} ${'c'.repeat(5)}`
    expect(splitAnswer(text)).toEqual([`${'a'.repeat(40)} ${'b'.repeat(26)}`, 'ccccc'])
  })

  it('keeps a number with its word and a way in one piece where that takes no more messages', () => {
    const before = 'x'.repeat(60)
    expect(splitAnswer(`${before} wind 18km/h NW gust 32`)).toEqual([
      before,
      'wind 18km/h NW gust 32',
    ])
    expect(splitAnswer(`${before} 12km NNE of you; and`)).toEqual([before, '12km NNE of you; and'])
    const full = `${'x'.repeat(62)} wind 18km/h ${'y'.repeat(59)}`
    expect(splitAnswer(full)).toEqual([`${'x'.repeat(62)} wind`, `18km/h ${'y'.repeat(59)}`])
  })

  it.each(airLanguages)('keeps a label with its figure: %s', (language) => {
    const wording = createWordings().of(language)
    const names = ['tone', 'dcs', 'wind', 'gust', 'humidity', 'riseAt', 'topAt', 'setAt']
    for (const name of [...names, 'dawn', 'rise', 'set', 'dusk']) {
      const [label = ''] = wording.find(name)!.split(' ')
      const before = 'x'.repeat(66 - label.length)
      expect(splitAnswer(`${before} ${label} 18.5 NW`)).toEqual([before, `${label} 18.5 NW`])
    }
  })

  it('cuts a long plain word where whole words take more messages than the characters', () => {
    const text = `${'a'.repeat(60)} elevation ${'b'.repeat(63)}`
    expect(splitAnswer(text)).toEqual([`${'a'.repeat(60)} elevat`, `ion ${'b'.repeat(63)}`])
    const call = `${'a'.repeat(60)} Q1ABC-12 ${'b'.repeat(64)}`
    expect(splitAnswer(call)).toHaveLength(3)
    const name = `${'a'.repeat(60)} Lindenberg ${'b'.repeat(62)}`
    expect(splitAnswer(name)).toHaveLength(3)
    expect(splitAnswer(text, { mayCutWords: false })).toHaveLength(3)
  })

  it('cuts a word that fits no message', () => {
    expect(splitAnswer('y'.repeat(70))).toEqual(['y'.repeat(67), 'yyy'])
  })

  it('begins a message for each entry of a list and joins none', () => {
    expect(splitAnswer(['one', 'two'])).toEqual(['one', 'two'])
  })

  it('gives nothing for nothing', () => {
    expect(splitAnswer('')).toEqual([])
    expect(splitAnswer(['', '  '])).toEqual([])
  })

  it('stops at the limit of messages and says that there was more', () => {
    expect(splitAnswer(['a', 'b', 'c', 'd'])).toEqual(['a', 'b', 'c..'])
    const long = splitAnswer('word '.repeat(100), { messagesMax: 2 })
    expect(long).toHaveLength(2)
    expect(long[1]!.length).toBeLessThanOrEqual(67)
    expect(long[1]).toMatch(/word\.\.$/)
    expect(splitAnswer('z'.repeat(100), { messagesMax: 1 })).toEqual([`${'z'.repeat(65)}..`])
  })

  it('refuses options that no message has', () => {
    expect(() => splitAnswer('a', { charactersMax: 68 })).toThrow(RangeError)
    expect(() => splitAnswer('a', { messagesMax: 0 })).toThrow(RangeError)
  })

  it('loses no word and never exceeds a message, for any text', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 400 }), (text) => {
        const messages = splitAnswer(text, { messagesMax: 1000 })
        for (const message of messages) {
          expect(message.length).toBeLessThanOrEqual(messageCharactersMax)
          expect(message).toMatch(/^[ -z]+$/)
        }
        expect(messages.join('').replaceAll(' ', '')).toBe(airText(text).replaceAll(' ', ''))
      }),
    )
  })

  it('keeps to the limit of messages, for any list', () => {
    fc.assert(
      fc.property(fc.array(fc.lorem()), fc.integer({ min: 1, max: 5 }), (entries, messagesMax) => {
        const messages = splitAnswer(entries, { messagesMax })
        expect(messages.length).toBeLessThanOrEqual(messagesMax)
        for (const message of messages) expect(message.length).toBeLessThanOrEqual(67)
      }),
    )
  })
})

describe('words of a person', () => {
  it('go out in their own characters, cut between them', () => {
    const text = 'Grüße vom Gipfel 山頂 🏔️'
    expect(splitAnswer([{ asSent: text }, 'Grüße'])).toEqual([text, 'Grusse'])
    expect(splitAnswer([{ asSent: 'a|b~c{d}' }])).toEqual(['a/b-c(d)'])
    expect(splitAnswer([{ asSent: '山'.repeat(70) }])).toEqual(['山'.repeat(67), '山'.repeat(3)])
    expect(splitAnswer([{ asSent: '山'.repeat(70) }], { messagesMax: 1 })).toEqual([
      `${'山'.repeat(65)}..`,
    ])
  })

  it('lose no character, part none, and never exceed a message or a frame, for any text', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme', maxLength: 400 }), (text) => {
        const messages = splitAnswer([{ asSent: text }], { messagesMax: 1000 })
        for (const message of messages) expect(messageTextProblem(message)).toBeUndefined()
        expect(messages.join('').replaceAll(' ', '')).toBe(keptText(text).replaceAll(' ', ''))
      }),
    )
  })
})

describe('airText', () => {
  // APRS reference 1.0.1, chapter 14: message text is printable ASCII except | ~ and {
  it('keeps the reserved characters out', () => {
    expect(airText('a|b~c{d}')).toBe('a/b-c(d)')
  })
  it('spells what ASCII has not', () => {
    expect(airText('Höhe 5°, café “Zum Groß”')).toBe('Hohe 5 deg, cafe "Zum Gross"')
    expect(airText('山')).toBe('?')
  })
  it('makes one blank of any white space', () => {
    expect(airText(' a\r\n\tb ')).toBe('a b')
  })
})

describe('composed', () => {
  const messagesOf = (parts: readonly string[], joint?: string) =>
    splitAnswer(composed(parts, joint), { messagesMax: 100 })
  it('leaves parts apart that need so many messages, joins them where they do not', () => {
    const long = 'x'.repeat(60)
    expect(messagesOf([long, long])).toEqual([long, long])
    expect(messagesOf(['one', 'two'])).toEqual(['one. two'])
    expect(messagesOf(['One.', 'two'], '; ')).toEqual(['One. two'])
    expect(messagesOf(['a'.repeat(40), 'b'.repeat(40), 'c'.repeat(20)], '; ')).toEqual([
      'a'.repeat(40),
      `${'b'.repeat(40)}; ${'c'.repeat(20)}`,
    ])
  })
  it('joins sentences without a blank where one takes a message more', () => {
    const [sun, moon] = ['24 Dec at you: sun up all day', 'Moon 100% lit, waxing, full on 24 Dec']
    expect(messagesOf([sun, moon])).toEqual([`${sun}.${moon}`])
  })
  it('tries tighter forms only where a fuller one takes a message more than its characters need', () => {
    const entry = `${'x'.repeat(28)} 12km`
    const formOf = (form: number) => [`${entry} of you`, form === 0 ? `${entry} of you` : entry]
    const told = composedTightly(formOf, 1, '; ')
    expect(splitAnswer(told)).toHaveLength(2)
    expect(composedTightly((form) => (form === 0 ? ['one', 'two'] : ['one']), 1, '; ')).toEqual([
      'one; two',
    ])
    // Figures are not cut.
    const [one, other] = ['1'.repeat(60), '3'.repeat(61)]
    const forms = [
      [`${one} ${'2'.repeat(10)}`, other],
      [one, other],
    ]
    expect(splitAnswer(composedTightly((form) => forms[form]!, 1, '; '))).toEqual(forms[1])
  })
  it('takes no more messages than the words in one text would, and loses none of them', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.stringMatching(/^[a-z0-9]{1,12}$/), { minLength: 1, maxLength: 12 }), {
          minLength: 1,
          maxLength: 10,
        }),
        (lists) => {
          const parts = lists.map((words) => words.join(' '))
          const messages = messagesOf(parts, '; ')
          const whole = splitAnswer(parts.join('; '), { messagesMax: 100 })
          const fewest = Math.ceil(parts.join('; ').length / 67)
          expect(messages.length).toBeLessThanOrEqual(Math.max(fewest, whole.length))
          expect(messages.join(' ').replace(/; ?/g, ' ')).toBe(parts.join(' '))
        },
      ),
      { seed: 1 },
    )
  })
})

it('a number is not parted from its unit', () => {
  const text = `${'x'.repeat(60)} is 12 km away`
  expect(splitAnswer(text)).toEqual([`${'x'.repeat(60)} is`, '12 km away'])
})
