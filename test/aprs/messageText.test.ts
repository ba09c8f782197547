import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { formatMessage } from '../../src/aprs/format.js'
import {
  beginningThatFits,
  characterCount,
  fitsMessage,
  shortenedText,
} from '../../src/aprs/messageText.js'

const octetCount = (text: string): number => new TextEncoder().encode(text).length

describe('what one message holds', () => {
  it.each([
    ['x', 67],
    ['ü', 67],
    ['山', 67],
    // four octets each: the frame is full before the characters are
    ['🏔', 59],
  ])('of %s %d', (character, most) => {
    expect(fitsMessage(character.repeat(most))).toBe(true)
    expect(fitsMessage(character.repeat(most + 1))).toBe(false)
    expect(characterCount(character.repeat(most))).toBe(most)
  })

  it('whatever it is, its frame has no more than 256 octets of information (fast-check)', () => {
    const text = fc
      .string({ unit: 'binary', maxLength: 70 })
      .filter((one) => !/[|~{\0-\x1f\x7f]/.test(one))
    let longest = 0
    fc.assert(
      fc.property(fc.oneof(text, fc.constant('🏔'.repeat(59))), (one) => {
        if (!fitsMessage(one)) return
        const payload = formatMessage({
          addressee: 'N0CALL-11',
          text: one,
          number: 'AB',
          replyAcknowledges: 'CD',
        })
        longest = Math.max(longest, payload.length)
        expect(payload.length).toBeLessThanOrEqual(256)
      }),
      { numRuns: 2_000, seed: 16 },
    )
    expect(longest).toBeGreaterThan(250)
  })
})

describe('the beginning that fits', () => {
  it('keeps marks with their letter, and pictures of several characters whole', () => {
    // e with an acute accent of its own; a family joined of three; a flag of two letters
    for (const whole of ['e\u0301', '👨\u200d👩\u200d👧', '🇨🇭']) {
      const count = characterCount(whole)
      expect(beginningThatFits(`ab${whole}cd`, 2 + count)).toBe(`ab${whole}`)
      for (let less = 1; less < count; less++)
        expect(beginningThatFits(`ab${whole}cd`, 2 + count - less)).toBe('ab')
    }
  })

  it('gives up a letter with more marks than a message holds, and never ends in nothing', () => {
    const text = `a${'\u0301'.repeat(200)}`
    expect(beginningThatFits(text)).toBe(text.slice(0, 67))
    expect(beginningThatFits('🏔', 1)).toBe('🏔')
  })

  it('is the longest that goes, and a beginning (fast-check)', () => {
    fc.assert(
      fc.property(
        fc.string({ unit: 'grapheme', maxLength: 120 }),
        fc.integer({ min: 1, max: 67 }),
        (text, charactersMax) => {
          const kept = beginningThatFits(text, charactersMax)
          expect(text.startsWith(kept)).toBe(true)
          expect(fitsMessage(kept, charactersMax)).toBe(true)
          expect(kept === '' && text !== '').toBe(false)
          // no half of a pair
          expect(Buffer.from(kept).toString()).toBe(kept)
        },
      ),
      { numRuns: 2_000, seed: 16 },
    )
  })

  it('is marked where something is missing', () => {
    expect(shortenedText('short')).toBe('short')
    expect(shortenedText('山'.repeat(68))).toBe(`${'山'.repeat(65)}..`)
    expect(octetCount(shortenedText('🏔'.repeat(100)))).toBeLessThanOrEqual(239)
  })
})
