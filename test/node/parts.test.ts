import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  addresseeAgain,
  addresseeOf,
  callIsListed,
  isOwnGroup,
  offerOf,
} from '../../src/node/addressing.js'
import { copies, copyKey } from '../../src/node/copies.js'
import { blockedWords, holdWords } from '../../src/node/holdWords.js'
import { messageNumber } from '../../src/node/messageNumber.js'
import { wordingFor } from '../../src/node/nodeWording.js'
import { rateLimit } from '../../src/node/rateLimit.js'
import { retryAfter } from '../../src/node/retry.js'
import { viaTable } from '../../src/node/viaTable.js'
import { seededRandom } from '../../src/runtime/random.js'
import type { Service } from '../../src/services/service.js'
import { inEnglish } from '../../src/words/air/all.js'

describe('message numbers', () => {
  it('have 1 to 5 characters, do not repeat for long, and the two forms never collide', () => {
    const plain = Array.from({ length: 99_900 }, (_, count) => messageNumber(count, false))
    const short = Array.from({ length: 1_296 }, (_, count) => messageNumber(count, true))
    expect(new Set([...plain, ...short]).size).toBe(99_900 + 1_296)
    // APRS reference, chapter 14: 1 to 5 letters and digits; two for reply-acknowledgements (addendum 1.1)
    for (const number of plain) expect(number).toMatch(/^\d{3,5}$/)
    for (const number of short) expect(number).toMatch(/^[0-9A-Z]{2}$/)
  })
})

describe('rate limit', () => {
  it('counts exactly what lies within the window (fast-check)', () => {
    const steps = fc.array(fc.nat(50), { maxLength: 60 })
    fc.assert(
      fc.property(steps, (gaps) => {
        const limit = rateLimit(100)
        const times: number[] = []
        let nowMs = 0
        for (const gap of gaps) {
          nowMs += gap
          times.push(nowMs)
          expect(limit.note('a', nowMs)).toBe(times.filter((atMs) => nowMs - atMs < 100).length)
        }
      }),
    )
  })

  it('counts each name by itself, and counting is no noting', () => {
    const limit = rateLimit(100)
    limit.note('a', 0)
    expect([limit.count('a', 1), limit.count('a', 1), limit.count('b', 1)]).toEqual([1, 1, 0])
    expect([limit.note('b', 1), limit.note('a', 2)]).toEqual([1, 2])
  })

  it('forgets the name not noted for longest when there are too many', () => {
    const limit = rateLimit(100, 2)
    for (const name of ['a', 'b', 'a', 'c']) limit.note(name, 0)
    expect(['a', 'b', 'c'].map((name) => limit.count(name, 0))).toEqual([2, 0, 1])
  })
})

describe('copies', () => {
  it('are known within the window, with whether they came the same way', () => {
    const seen = copies(28_000)
    expect(seen.note('x', '', 0)).toBeUndefined()
    expect(seen.note('x', 'DIGI1', 1_000)).toMatchObject({ count: 2, samePath: false })
    expect(seen.note('x', '', 27_000)).toMatchObject({ count: 3, samePath: true })
    expect(seen.note('x', '', 29_000)).toBeUndefined()
  })

  it('are counted from when the first was heard, by each way and each key', () => {
    const seen = copies(28_000)
    seen.note('x', 'DIGI1', 500)
    seen.note('y', '', 600)
    expect(seen.note('x', 'DIGI1', 700)).toEqual({ firstMs: 500, count: 2, samePath: true })
    expect(seen.note('x', '', 800)).toEqual({ firstMs: 500, count: 3, samePath: false })
    expect(seen.note('x', '', 900)).toEqual({ firstMs: 500, count: 4, samePath: true })
    expect(seen.note('y', '', 900)).toEqual({ firstMs: 600, count: 2, samePath: true })
  })

  it('have sender, destination and every octet of the payload in common', () => {
    const address = (call: string, ssid: number) => ({ call, ssid })
    const frame = (ssid: number, payload: Uint8Array) =>
      ({ source: address('N0CALL', 7), destination: address('APZ001', ssid), payload }) as never
    expect(copyKey(frame(0, Uint8Array.of(0x3e, 0xe9)))).toBe('N0CALL-7>APZ001:>\u00e9')
    expect(copyKey(frame(1, Uint8Array.of()))).toBe('N0CALL-7>APZ001-1:')
  })
})

describe('repetition', () => {
  it('waits longer each time, within the jitter, and ends', () => {
    const random = seededRandom(1)
    const options = { gapsMs: [8_000, 16_000, 32_000, 64_000], jitter: 0.2 }
    for (let run = 0; run < 1_000; run++) {
      for (const [index, gapMs] of [...options.gapsMs, 64_000].entries()) {
        const { waitMs, next } = retryAfter(index + 1, options, random)
        expect(Math.abs(waitMs / gapMs - 1)).toBeLessThanOrEqual(0.2)
        expect(next).toBe(index < 4 ? 'send' : 'give up')
      }
    }
  })

  it('waits less or more by the random number', () => {
    const wait = (random: number) =>
      retryAfter(1, { gapsMs: [10_000], jitter: 0.2 }, () => random).waitMs
    expect([wait(0), wait(0.5), wait(0.75)]).toEqual([8_000, 10_000, 11_000])
  })

  it('none configured: one transmission, and time to acknowledge it', () => {
    const once = retryAfter(1, { gapsMs: [], jitter: 0 }, () => 0.5)
    expect(once).toEqual({ waitMs: 30_000, next: 'give up' })
  })
})

describe('addressees', () => {
  it('are us, a name of ours, everybody, or somebody else', () => {
    const own = { call: 'N0CALL', aliases: [{ name: 'INFO', services: [] }] }
    const kinds = ['N0CALL', 'n0call-0', 'info', 'ALL', 'QST', 'CQ', 'N0CALL-1', ''].map(
      (addressee) => addresseeOf(addressee, own).kind,
    )
    expect(kinds).toEqual(['us', 'us', 'alias', 'group', 'group', 'group', 'other', 'other'])
  })

  it('a list names stations, or every SSID of a call', () => {
    expect(callIsListed('N0CALL-7', ['N0CALL'])).toBe(true)
    expect(callIsListed('N0CALL-7', ['N0CALL-8'])).toBe(false)
  })

  it('groups that are configured are nobody to answer, names go before them', () => {
    const own = {
      ...{ call: 'N0CALL', groups: ['RESCUE', 'INFO'] },
      aliases: [{ name: 'Info', services: ['sun'] }],
    }
    const kinds = [' rescue ', 'RESCUE2', 'N0CALL ', 'INFO'].map(
      (addressee) => addresseeOf(addressee, own).kind,
    )
    expect(kinds).toEqual(['group', 'other', 'us', 'alias'])
    expect(addresseeOf('info', own)).toEqual({ kind: 'alias', alias: own.aliases[0] })
    expect([isOwnGroup(' rescue', own), isOwnGroup('rescue', {})]).toEqual([true, false])
    expect(callIsListed('N0CALL-7', ['N0CALL-7'])).toBe(true)
  })

  it('of a question that was kept are a name that there is still, or us', () => {
    const aliases = [{ name: 'Info', services: [] }]
    expect(addresseeAgain(' info ', { aliases })).toEqual({ kind: 'alias', alias: aliases[0] })
    expect(addresseeAgain('GONE', { aliases })).toEqual({ kind: 'us' })
  })

  it('offer all services, those of their name, or the single one of it whatever is said', () => {
    const services = ['sun', 'moon', 'echo'].map((keyword) => ({ keyword }) as Service)
    const [sun, moon] = services as [Service, Service]
    const to = (...names: string[]) =>
      offerOf({ kind: 'alias', alias: { name: 'INFO', services: names } }, services, undefined)
    expect(offerOf({ kind: 'us' }, services, undefined)).toEqual({ services })
    expect(to()).toEqual({ services })
    expect(to('sun')).toEqual({ services: [sun], only: true })
    expect(to('moon', 'sun')).toEqual({ services: [sun, moon], only: false })
    const vocabulary = {} as never
    expect(offerOf({ kind: 'us' }, services, vocabulary)).toEqual({ services, vocabulary })
    const alias = { name: 'INFO', services: ['sun'] }
    expect(offerOf({ kind: 'alias', alias }, services, vocabulary)).toEqual({
      ...{ services: [sun], only: true, vocabulary },
    })
  })
})

describe('the way back to a station', () => {
  const heard = (from: string, ...via: string[]) => ({ from, via }) as never

  it('is that of its last message, the shortest of its copies', () => {
    const table = viaTable()
    expect(table.find('Q1')).toBeUndefined()
    table.note(heard('Q1', 'A', 'B'), 0)
    table.note(heard('Q1', 'C', 'D', 'E'), 100)
    expect(table.find('Q1')).toEqual(['A', 'B'])
    table.note(heard('Q1', 'C', 'D'), 200)
    expect(table.find('Q1')).toEqual(['C', 'D'])
    table.note(heard('Q1'), 300)
    expect(table.find('Q1')).toEqual([])
    table.note(heard('Q2', 'A'), 300)
    expect([table.find('Q1'), table.find('Q2')]).toEqual([[], ['A']])
  })
})

describe('words for a radio that may not send', () => {
  it.each([
    ['operator', 'held by the operator'],
    ['control operator', 'held by radio'],
    ['file', 'held by a file'],
    ['input', 'held by a switch input'],
    ['key line', 'held by the key line'],
    ['guard of the key line', 'held by the key line'],
    ['audio output', 'held by the audio output'],
    ['modem', 'held by the modem'],
    ['program fault', 'held by a fault of the program'],
    ['somebody else', 'held'],
    // no word of the language itself
    ['constructor', 'held'],
  ])('a hold of %s: %s', (source, words) => {
    expect(holdWords(source, inEnglish)).toBe(words)
    const hold = { source, reason: 'my own words', sinceMs: 0 }
    const blocked = { holds: [hold], transmitBlockedBy: `held by ${source}: my own words` }
    expect(blockedWords(blocked, inEnglish)).toBe(words)
  })

  it('say what else it is, in so far as people want to know', () => {
    const words = (transmitBlockedBy: string | undefined, source = 'operator') =>
      blockedWords({ holds: [{ source, reason: 'x', sinceMs: 0 }], transmitBlockedBy }, inEnglish)
    expect(words(undefined)).toBeUndefined()
    expect(words('the duty limit is reached')).toBe('duty limit reached')
    expect(words('transmit.enabled is off')).toBe('not sending')
    expect(words('held by file: x')).toBe('not sending')
    expect(blockedWords({ transmitBlockedBy: 'held by operator: x' }, inEnglish)).toBe(
      'not sending',
    )
  })
})

describe('the language of an answer', () => {
  const options = { language: 'de' }
  const wording = wordingFor({} as never, options)
  const noMessages = (text?: string): string => wording(text).say('noMessages')

  it('is that of the question, or the own one of the station, as it is now', () => {
    const german = noMessages()
    expect(german).not.toBe('No messages for you')
    expect(noMessages('weather tomorrow please')).toBe('No messages for you')
    expect(noMessages('xyzzy')).toBe(german)
    options.language = 'en'
    expect(noMessages()).toBe('No messages for you')
  })

  it('is one of those that are given', () => {
    const asked: string[] = []
    const wordings = { of: (language: string) => asked.push(language) } as never
    wordingFor({ wordings } as never, options)()
    expect(asked).toEqual(['en'])
  })
})
