import { afterEach, describe, expect, it } from 'vitest'
import type { Email, NewEmail } from '../../src/store/emails.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore } from './openTestStore.js'

let store: Store
afterEach(() => store.close())

function bench() {
  store = openTestStore().store
  const { emails } = store
  let count = 0
  const write = (given: Partial<NewEmail> = {}): Email =>
    emails.insert({
      ...{ questionId: `Q${++count}`, kind: 'letter', from: 'Q1ABC-7', toName: 'ann' },
      ...{ toAddress: 'ann@example.org', text: 'all well', messageId: `<${count}@node>` },
      ...{ inReplyTo: undefined, language: 'english', leftWallMs: 5_000, expiresWallMs: 9_000 },
      ...{ expiryTrusted: true, ...given },
    })
  const ids = (all: readonly Email[]) => all.map(({ id }) => id)
  return { emails, write, ids }
}

describe('mail that is sent', () => {
  it('is kept with all that is known of it, once for its question', () => {
    const { emails, write } = bench()
    const first = {
      ...{ id: 1, questionId: 'Q1', kind: 'letter', from: 'Q1ABC-7', toName: 'ann' },
      ...{ toAddress: 'ann@example.org', text: 'all well', messageId: '<1@node>' },
      ...{ inReplyTo: undefined, language: 'english', leftWallMs: 5_000, expiresWallMs: 9_000 },
      ...{ expiryTrusted: true, state: 'waiting', attempts: 0, underWay: false, unsureCount: 0 },
      ...{ endedWallMs: undefined, reason: undefined },
    }
    expect(write()).toEqual(first)
    const report = { kind: 'report', inReplyTo: '<9@example.org>', expiryTrusted: false } as const
    const second = { ...first, id: 2, questionId: 'Q2', messageId: '<2@node>', ...report }
    expect(write(report)).toEqual(second)
    expect(write({ questionId: 'Q1', text: 'another' })).toEqual(first)
    expect([emails.find(2), emails.find(3)]).toEqual([second, undefined])
    expect([emails.findByQuestion('Q2'), emails.findByQuestion('Q3')]).toEqual([second, undefined])
    expect(emails.findByMessageId('<2@node>')).toEqual(second)
    expect(emails.findByMessageId('<3@node>')).toBeUndefined()
  })

  it('is tried, waits again, and ends', () => {
    const { emails, write } = bench()
    const first = write()
    const changed = (changes: Partial<Email>): void => {
      expect(emails.find(1)).toEqual({ ...first, ...changes })
    }
    emails.noteAttempt(1)
    changed({ attempts: 1, underWay: true })
    emails.noteWaiting(1, false)
    changed({ attempts: 1 })
    emails.noteAttempt(1)
    emails.noteWaiting(1, true)
    changed({ attempts: 2, unsureCount: 1 })
    emails.noteAttempt(1)
    emails.end(1, 'refused', 6_000, 'no such address')
    const ended = { attempts: 3, unsureCount: 1, endedWallMs: 6_000 }
    changed({ ...ended, state: 'refused', reason: 'no such address' })
    emails.end(1, 'sent', 6_000)
    changed({ ...ended, state: 'sent' })
  })

  it('waits, and is found again by its sender, receiver and text', () => {
    const { emails, write, ids } = bench()
    for (let count = 0; count < 4; count++) write()
    emails.end(2, 'sent', 6_000)
    expect([ids(emails.waiting(0, 9)), ids(emails.waiting(1, 1)), emails.waitingCount]).toEqual([
      ...[[1, 3, 4], [3], 3],
    ])
    const same = (from: string, to: string, text: string) => emails.findSame(from, to, text)?.id
    expect(same('Q1ABC-7', 'ann@example.org', 'all well')).toBe(1)
    expect([
      same('Q1ABC', 'ann@example.org', 'all well'),
      same('Q1ABC-7', 'bob@example.org', 'all well'),
      same('Q1ABC-7', 'ann@example.org', 'all'),
    ]).toEqual([undefined, undefined, undefined])
    for (const id of [1, 3, 4]) emails.end(id, 'expired', 6_000)
    expect(same('Q1ABC-7', 'ann@example.org', 'all well')).toBeUndefined()
  })

  it('is counted within a time either way, by whomever, or as letters of any SSID of a call', () => {
    const { emails, write } = bench()
    write({ leftWallMs: 4_000 })
    write({ from: 'Q1ABC', leftWallMs: 6_000 })
    write({ from: 'Q1ABCD' })
    write({ kind: 'report' })
    const counts = (spanMs: number) => [
      ...[emails.countWithin(spanMs, 5_000), emails.countWithin(spanMs, 5_000, 'Q1ABC')],
    ]
    expect([counts(1_000), counts(999), counts(0)]).toEqual([
      ...[
        [4, 2],
        [2, 0],
        [2, 0],
      ],
    ])
  })

  it('of a station is listed, the newest first, and known for all its SSIDs', () => {
    const { emails, write, ids } = bench()
    write()
    write()
    write({ kind: 'alert' })
    write({ from: 'Q1ABC-8' })
    write({ from: 'Q2ABC', kind: 'report' })
    expect([ids(emails.writtenBy('Q1ABC-7', 9)), ids(emails.writtenBy('Q1ABC-7', 1))]).toEqual([
      ...[[2, 1], [2]],
    ])
    const written = ['Q1ABC', 'Q1AB', 'Q2ABC', 'Q9NEW'].map(emails.hasWritten)
    expect(written).toEqual([true, false, false, false])
  })

  it('expires at its time, where that is trusted, the oldest first, so many', () => {
    const { emails, write, ids } = bench()
    write({ expiresWallMs: 8_000 })
    write({ expiresWallMs: 7_000 })
    write({ expiresWallMs: 6_000, expiryTrusted: false })
    write({ expiresWallMs: 6_000 })
    write({ expiresWallMs: 8_001 })
    emails.end(4, 'sent', 5_000)
    expect([ids(emails.expired(8_000, 9)), ids(emails.expired(8_000, 1))]).toEqual([[2, 1], [2]])
    expect([emails.untrustedCount, emails.trustExpiry(7_500, 9), emails.untrustedCount]).toEqual([
      ...[1, 1, 0],
    ])
    expect(ids(emails.expired(8_000, 9))).toEqual([2, 3, 1])
  })
})

describe('what is kept beside the mail', () => {
  it('is which was taken, noted once', () => {
    const { emails } = bench()
    const noted = ['a', 'b', 'a'].map((key) => emails.noteTaken(key, 5_000))
    expect(noted).toEqual([true, true, false])
  })

  it('is the names that a call gave to addresses', () => {
    const { emails } = bench()
    expect(emails.nameCount()).toBe(0)
    emails.setName('Q1ABC', 'bob', 'bob@example.org')
    emails.setName('Q1ABC', 'ann', 'ann@example.org')
    emails.setName('Q2ABC', 'ann', 'other@example.org')
    emails.setName('Q1ABC', 'ann', 'new@example.org')
    expect(emails.namesOf('Q1ABC')).toEqual([
      { name: 'ann', address: 'new@example.org' },
      { name: 'bob', address: 'bob@example.org' },
    ])
    expect(emails.nameCount()).toBe(3)
    emails.setName('Q1ABC', 'ann', undefined)
    expect(emails.namesOf('Q1ABC').map(({ name }) => name)).toEqual(['bob'])
    expect(emails.namesOf('Q2ABC').map(({ name }) => name)).toEqual(['ann'])
  })
})
