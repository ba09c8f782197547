import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { addresseeOf, callIsListed } from '../../src/node/addressing.js'
import { copies } from '../../src/node/copies.js'
import { messageNumber } from '../../src/node/messageNumber.js'
import { rateLimit } from '../../src/node/rateLimit.js'
import { retryAfter } from '../../src/node/retry.js'
import { seededRandom } from '../../src/runtime/random.js'

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
})
