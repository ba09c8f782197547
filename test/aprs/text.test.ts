import { describe, expect, it } from 'vitest'
import { octetString, readText, writeText } from '../../src/aprs/text.js'

const cut = (text: string, octetCount: number): string =>
  readText(octetString(writeText(text).slice(0, octetCount)))

describe('free text that was heard', () => {
  it('is UTF-8, also where its sender cut it within its last character', () => {
    const text = 'Grüße vom Gipfel ⛰🏔'
    const octets = writeText(text)
    expect(readText(octetString(octets))).toBe(text)
    for (let kept = 4; kept < octets.length; kept++)
      expect(text.startsWith(cut(text, kept)), `${kept} octets: ${cut(text, kept)}`).toBe(true)
    expect(cut(text, octets.length - 1)).toBe('Grüße vom Gipfel ⛰')
  })

  it('is Latin-1 where it is no UTF-8, also where one letter of it could be the beginning of some', () => {
    for (const text of ['café', 'Grüße', 'Ü', 'à côté', 'naïve Ã'])
      expect(readText(octetString(Buffer.from(text, 'latin1')))).toBe(text)
  })
})
