import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { bookFor } from '../../../src/node/hills/book.js'
import type { Entry, EntryKind } from '../../../src/node/hills/entry.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../../src/setup/defaultOptions.js'
import { runSession, SimHill } from './hillSim.js'

const hourMs = 3_600_000

/** Nodes in a row, each with its database. */
function row(calls: readonly string[], withMark = true) {
  const clock = virtualClock()
  const folder = mkdtempSync(join(tmpdir(), 'hills-'))
  const reports: string[] = []
  const hills = calls.map(
    (call, index) =>
      new SimHill({
        ...{ clock, random: seededRandom(index + 1), call, folder, withMark },
        neighbours: [calls[index - 1], calls[index + 1]].flatMap((one) => one ?? []),
        onReport: (to, text) => reports.push(`${call} to ${to}: ${text}`),
      }),
  )
  return { clock, folder, reports, hills, a: hills[0]!, b: hills[1]!, c: hills[2]! }
}

/** So many rounds of sessions between neighbours, half an hour apart unless given. */
function rounds(clock: VirtualClock, hills: readonly SimHill[], count = 4, apartMs = hourMs / 2) {
  for (let round = 0; round < count; round++) {
    for (const hill of hills) hill.look()
    for (let at = 1; at < hills.length; at++) runSession(clock, hills[at - 1]!, hills[at]!)
    clock.advanceTo(clock.monotonicMs() + apartMs)
  }
}

const take = (hill: SimHill, entry: Partial<Entry> & { kind: EntryKind }) =>
  bookFor(hill.ledger, { call: 'Q2BBB', takes: ['message', 'notice'], gives: [] }, new Map()).keep({
    ...{ id: 'Q2BBB.ABCDEFGHJK', from: 'Q3SND', to: 'Q4RCV', subject: '', text: 'hello' },
    ...{ ageMin: 5, lifeMin: 60, trace: ['Q2BBB'], ...entry },
  })

const got = (hill: SimHill, call: string): string[] => {
  const texts: string[] = []
  hill.collect(call, (text) => texts.push(text))
  return texts
}

describe('what a node takes', () => {
  it('is of a licensed sender, or of one whom the licensee allows', () => {
    const { a } = row(['Q1AAA', 'Q2BBB'])
    expect(take(a, { kind: 'message', from: 'mum@home' })).toEqual({ reason: 'sender' })
    expect(take(a, { kind: 'message', from: 'N0CALL' })).toEqual({ reason: 'sender' })
    expect(take(a, { kind: 'message' })).toBe('kept')
    expect(got(a, 'Q4RCV')).toEqual(['hello'])
  })

  it('has not been here, fits, is for a station, finds room', () => {
    const { a } = row(['Q1AAA', 'Q2BBB'])
    expect(take(a, { kind: 'message', trace: ['Q1AAA', 'Q2BBB'] })).toEqual({ reason: 'loop' })
    expect(take(a, { kind: 'message', text: 'two\nlines' })).toEqual({ reason: 'text' })
    expect(take(a, { kind: 'message', text: 'x'.repeat(61) })).toEqual({ reason: 'text' })
    expect(take(a, { kind: 'message', to: 'HUT' })).toEqual({ reason: 'to' })
    expect(take(a, { kind: 'message', to: 'Q1AAA' })).toEqual({ reason: 'to' })
    expect(take(a, { kind: 'notice', to: '*', text: 'two\nlines' })).toEqual({ reason: 'text' })
    expect(take(a, { kind: 'letter' })).toEqual({ reason: 'kind' })
    for (let at = 0; at < 3; at++)
      take(a, { kind: 'notice', to: '*', id: `Q2BBB.NNNNNNNNN${'ABC'[at]}`, text: `notice ${at}` })
    const fourth = take(a, {
      kind: 'notice',
      to: '*',
      id: 'Q2BBB.NNNNNNNNND',
      text: 'one too many',
    })
    expect(fourth).toEqual({ reason: 'full' })
  })

  it('is of a kind that is taken from that node', () => {
    const { a } = row(['Q1AAA', 'Q2BBB'])
    const book = bookFor(a.ledger, { call: 'Q2BBB', takes: ['notice'], gives: [] }, new Map())
    const offer = { id: 'Q2BBB.ABCDEFGHJK', octets: 5, to: 'Q4RCV' }
    expect(book.judge({ ...offer, kind: 'message' })).toEqual({ type: 'refuse', reason: 'kind' })
    expect(book.judge({ ...offer, kind: 'notice', to: '*' })).toEqual({ type: 'want' })
  })

  it('a report, only from the node that had the entry', () => {
    const { a, b, clock, hills, reports } = row(['Q1AAA', 'Q2BBB'])
    b.hear('Q4RCV')
    rounds(clock, hills)
    a.leave('q1', 'Q3SND', 'Q4RCV', 'hello')
    const id = a.ledger.carried.waiting()[0]!.id
    const report = { kind: 'report', to: 'Q3SND', from: 'Q2BBB' } as const
    const text = `${id} delivered Q1AAA\nQ4RCV: hello`
    runSession(clock, a, b)
    const stranger = bookFor(a.ledger, { call: 'Q9BAD', takes: [], gives: [] }, new Map())
    const entry = { subject: '', ageMin: 0, lifeMin: 9, trace: ['Q9BAD'], id: 'Q9BAD.ABCDEFGHJK' }
    expect(stranger.keep({ ...report, ...entry, text })).toEqual({ reason: 'peer' })
    expect(reports).toEqual([])
    expect(take(a, { ...report, text: 'nonsense' })).toEqual({ reason: 'text' })
  })
})

describe('three hand-overs', () => {
  it('carry a message over four nodes, and not to a fifth', () => {
    const { clock, hills, reports } = row(['Q1AAA', 'Q2BBB', 'Q3CCC', 'Q4DDD', 'Q5EEE'])
    const [first, , , fourth, fifth] = hills
    fourth!.hear('Q6RCV')
    fifth!.hear('Q7FAR')
    rounds(clock, hills, 8)
    first!.leave('q1', 'Q6SND', 'Q6RCV', 'three hops')
    first!.leave('q2', 'Q6SND', 'Q7FAR', 'four hops')
    rounds(clock, hills, 6)
    expect(got(fourth!, 'Q6RCV')).toEqual(['three hops'])
    expect(got(fifth!, 'Q7FAR')).toEqual([])
    // nobody knows a way of four: it stays where it was left
    expect(first!.mail.waitingFor('Q7FAR')).toHaveLength(1)
    rounds(clock, hills, 6)
    expect(reports).toEqual(['Q1AAA to Q6SND: Your message to Q6RCV was delivered: three hops'])
  })

  it('take a notice to every node, once each', () => {
    const { clock, hills, a } = row(['Q1AAA', 'Q2BBB', 'Q3CCC'])
    const wallMs = clock.wallMs()
    a.store.notices.insert({
      ...{ questionId: 'q1', from: 'Q3SND', text: 'road closed', postedWallMs: wallMs },
      ...{ expiresWallMs: wallMs + 48 * hourMs, expiryTrusted: true },
    })
    rounds(clock, hills, 6)
    for (const { store } of hills)
      expect(store.notices.current(clock.wallMs(), 9).map(({ text }) => text)).toEqual([
        'road closed',
      ])
  })
})

describe('what came before the clock was right', () => {
  it('gets its whole time from when it is, and ends after that', () => {
    const { clock, a } = row(['Q1AAA', 'Q2BBB'])
    const { keepMs } = defaultNodeOptions().mailbox
    const entry = () =>
      a.store.hills
        .recent(99)
        .filter(({ kind }) => kind === 'notice')
        .map(({ kind, state, outcome }) => [kind, state, outcome])
    expect(take(a, { kind: 'notice', to: '*', lifeMin: 60 })).toBe('kept')
    // A clock without a battery: the network sets it ten years on.
    a.wallOffsetMs = 3650 * 24 * hourMs
    a.look()
    expect(a.store.hills.untrustedCount).toBeGreaterThan(0)
    clock.advanceTo(clock.monotonicMs() + hourMs / 2)
    a.look()
    expect(entry()).toEqual([['notice', 'here', undefined]])
    clock.advanceTo(clock.monotonicMs() + hourMs)
    a.look()
    expect(a.store.hills.untrustedCount).toBe(0)
    const trustedMs = clock.monotonicMs()
    clock.advanceTo(trustedMs + keepMs - 60_000)
    a.look()
    expect(entry()).toEqual([['notice', 'here', undefined]])
    clock.advanceTo(trustedMs + keepMs + 60_000)
    a.look()
    expect(entry()).toEqual([['notice', 'ended', 'expired']])
  })
})

describe('a withdrawal', () => {
  it('ends a notice at every node that has it', () => {
    const { clock, hills, a, b } = row(['Q1AAA', 'Q2BBB', 'Q3CCC'])
    const wallMs = clock.wallMs()
    a.store.notices.insert({
      ...{ questionId: 'q1', from: 'Q3SND', text: 'unlawful', postedWallMs: wallMs },
      ...{ expiresWallMs: wallMs + 48 * hourMs, expiryTrusted: true },
    })
    rounds(clock, hills, 4)
    const { entryId } = b.store.hills.recent(99).find(({ kind }) => kind === 'notice')!
    expect(b.ledger.withdraw(entryId)).toBe('withdrawn here; the other nodes are told')
    expect(b.ledger.withdraw('Q2BBB.AAAAAAAAAA')).toBeUndefined()
    rounds(clock, hills, 4)
    for (const { store } of hills) expect(store.notices.current(clock.wallMs(), 9)).toEqual([])
  })

  it('ends a message at the node that keeps it, and its sender is told', () => {
    const { clock, hills, a, c, reports } = row(['Q1AAA', 'Q2BBB', 'Q3CCC'])
    c.hear('Q4RCV')
    rounds(clock, hills, 4)
    a.leave('q1', 'Q3SND', 'Q4RCV', 'hello')
    rounds(clock, hills, 3)
    const { entryId } = a.store.hills.recent(99).find(({ kind }) => kind === 'message')!
    expect(a.ledger.withdraw(entryId)).toBe('is with Q2BBB, which is told to end it')
    rounds(clock, hills, 6)
    expect(got(c, 'Q4RCV')).toEqual([])
    expect(reports).toEqual(['Q1AAA to Q3SND: Your message to Q4RCV was withdrawn: hello'])
  })

  it('of a message that the other then refuses ends it here, and its sender is told once', () => {
    const { clock, hills, a, c, reports } = row(['Q1AAA', 'Q2BBB', 'Q3CCC'])
    c.hear('Q4RCV')
    rounds(clock, hills, 4)
    a.leave('q1', 'Q3SND', 'Q4RCV', 'hello')
    a.look()
    const to = bookFor(a.ledger, { call: 'Q2BBB', takes: [], gives: ['message'] }, new Map())
    const { id } = to.offers(10_000).find(({ kind }) => kind === 'message')!
    expect(to.begin(id)).toMatchObject({ text: 'hello' })
    expect(a.ledger.withdraw(id)).toBe('is with Q2BBB, which is told to end it')
    to.refused(id, 'full')
    expect(a.store.mailbox.findByQuestion('q1')).toMatchObject({ state: 'withdrawn' })
    rounds(clock, hills, 4)
    expect(got(c, 'Q4RCV')).toEqual([])
    expect(reports).toEqual(['Q1AAA to Q3SND: Your message to Q4RCV was withdrawn: hello'])
  })

  it('of a node that does not have the entry does nothing', () => {
    const { clock, hills, a } = row(['Q1AAA', 'Q2BBB'])
    expect(take(a, { kind: 'message' })).toBe('kept')
    const stranger = bookFor(a.ledger, { call: 'Q9BAD', takes: [], gives: [] }, new Map())
    stranger.keep({
      ...{ id: 'Q9BAD.ABCDEFGHJK', kind: 'withdrawal', from: 'Q9BAD', to: '*', subject: '' },
      ...{ text: 'Q2BBB.ABCDEFGHJK', ageMin: 0, lifeMin: 9, trace: ['Q9BAD'] },
    })
    rounds(clock, hills, 1)
    expect(got(a, 'Q4RCV')).toEqual(['hello'])
  })
})

describe('a copy that was put in the place of a database', () => {
  it.each([true, false])(
    'is noticed (by a count beside it: %s): senders are told, nothing comes twice',
    (withMark) => {
      const { clock, folder, hills, a, b, c, reports } = row(['Q1AAA', 'Q2BBB', 'Q3CCC'], withMark)
      c.hear('Q4RCV')
      rounds(clock, hills, 4)
      a.leave('q1', 'Q3SND', 'Q4RCV', 'before')
      runSession(clock, a, b)
      b.backUp(join(folder, 'copy'))
      rounds(clock, hills, 2)
      expect(got(c, 'Q4RCV')).toEqual(['before'])
      a.leave('q2', 'Q3SND', 'Q4RCV', 'behind')
      runSession(clock, a, b)
      b.restore(join(folder, 'copy'))
      rounds(clock, hills, 8)
      expect(got(c, 'Q4RCV')).toEqual([])
      expect(reports.filter((text) => text.endsWith('behind'))).toEqual([
        'Q1AAA to Q3SND: Your message to Q4RCV is perhaps lost: behind',
      ])
      expect(reports.some((text) => text.endsWith('before'))).toBe(true)
    },
  )

  it('a node without one that begins on a new disk delivers what people leave then', () => {
    const { clock, hills, a, b } = row(['Q1AAA', 'Q2BBB'])
    b.hear('Q4RCV')
    rounds(clock, hills, 3)
    a.leave('q1', 'Q3SND', 'Q4RCV', 'hello')
    rounds(clock, hills, 3)
    expect(got(b, 'Q4RCV')).toEqual(['hello'])
  })
})

describe('a clock that is years off', () => {
  const years = 365 * 24 * hourMs

  function afterDays(setRight: boolean) {
    const { clock, hills, a, b, reports } = row(['Q1AAA', 'Q2BBB'])
    b.wallOffsetMs = -6 * years
    b.hear('Q4RCV')
    rounds(clock, hills, 4)
    a.leave('q1', 'Q3SND', 'Q4RCV', 'hello')
    rounds(clock, hills, 2)
    if (setRight) b.wallOffsetMs = 0
    rounds(clock, hills, 48)
    const texts = got(b, 'Q4RCV')
    rounds(clock, hills, 3)
    return { texts, reports: reports.map((text) => text.slice('Q1AAA to Q3SND: '.length)) }
  }

  it('at the taking node ends nothing early', () => {
    expect(afterDays(false)).toEqual({
      ...{ texts: ['hello'], reports: ['Your message to Q4RCV was delivered: hello'] },
    })
  })

  it('and is set while a message lies there: the sender is told', () => {
    const { texts, reports } = afterDays(true)
    expect(texts).toEqual([])
    expect(reports).toEqual(['Your message to Q4RCV was not collected in time: hello'])
  })
})

describe('a clock that was years ahead, and is set back', () => {
  it('has a sender told in days, not in years', () => {
    const { clock, hills, a, b, reports } = row(['Q1AAA', 'Q2BBB'])
    a.wallOffsetMs = 3 * 365 * 24 * hourMs
    b.hear('Q4RCV')
    rounds(clock, hills, 4)
    a.leave('q1', 'Q3SND', 'Q4RCV', 'hello')
    rounds(clock, hills, 1)
    a.wallOffsetMs = 0
    // The other node is gone for good.
    for (let day = 0; day < 10 * 24; day++) {
      a.look()
      clock.advanceTo(clock.monotonicMs() + hourMs)
    }
    expect(reports).toEqual(['Q1AAA to Q3SND: Your message to Q4RCV is perhaps lost: hello'])
  })
})

describe('a node that took a message on and is gone for good', () => {
  it.each([true, false])(
    'has its sender told once, where it began anew from a copy (%s) or not',
    (isRestored) => {
      const { clock, folder, hills, a, b, c, reports } = row(['Q1AAA', 'Q2BBB', 'Q3CCC'])
      c.hear('Q4RCV')
      rounds(clock, hills, 4)
      a.backUp(join(folder, 'copy'))
      a.leave('q1', 'Q3SND', 'Q4RCV', 'hello')
      rounds(clock, hills, 2)
      if (isRestored) a.restore(join(folder, 'copy'))
      rounds(clock, [a, b], 10 * 4, 6 * hourMs)
      expect(reports).toEqual(['Q1AAA to Q3SND: Your message to Q4RCV is perhaps lost: hello'])
    },
  )
})
