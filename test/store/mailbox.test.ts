import { afterEach, describe, expect, it } from 'vitest'
import type { MailboxEntry, NewMailboxEntry } from '../../src/store/mailbox.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore } from './openTestStore.js'

let store: Store
afterEach(() => store.close())

/** An empty mailbox, and what leaves entries in it, each by a question of its own. */
function bench() {
  store = openTestStore().store
  const { mailbox } = store
  let questions = 0
  const leave = (given: Partial<NewMailboxEntry> = {}): MailboxEntry =>
    mailbox.insert({
      ...{ questionId: `Q${++questions}`, from: 'Q7LAP', to: 'Q1ABC', text: 'bring rope' },
      ...{ leftWallMs: 1_000, expiresWallMs: 5_000, expiryTrusted: true, ...given },
    })
  const ids = (entries: readonly MailboxEntry[]) => entries.map(({ id }) => id)
  return { mailbox, leave, ids }
}

describe('an entry of the mailbox', () => {
  it('is kept with all that is known of it, once for its question', () => {
    const { mailbox, leave } = bench()
    const plain = {
      ...{ id: 1, questionId: 'Q1', from: 'Q7LAP', to: 'Q1ABC', text: 'bring rope' },
      ...{ leftWallMs: 1_000, expiresWallMs: 5_000, expiryTrusted: true, state: 'waiting' },
      ...{ number: undefined, collectedBy: undefined, collectQuestionId: undefined },
      ...{ promptedWallMs: undefined, promptCount: 0, endedWallMs: undefined, reason: undefined },
      ...{ senderName: undefined, answerTo: undefined, answerId: undefined, shown: false },
    }
    expect(leave()).toEqual(plain)
    const byMail = {
      ...{ senderName: 'Ann', answerTo: 'ann@example.org', answerId: '<1@example.org>' },
      expiryTrusted: false,
    }
    const mailed = { ...plain, id: 2, questionId: 'Q9', ...byMail }
    expect(leave({ questionId: 'Q9', ...byMail })).toEqual(mailed)
    expect(leave({ questionId: 'Q1', text: 'another text' })).toEqual(plain)
    expect([mailbox.find(2), mailbox.find(3)]).toEqual([mailed, undefined])
    expect([mailbox.findByQuestion('Q9'), mailbox.findByQuestion('Q8')]).toEqual([
      ...[mailed, undefined],
    ])
    expect(mailbox.recent(9)).toEqual([plain, mailed])
    expect(mailbox.recent(1)).toEqual([mailed])
  })

  it('is the same as one that is open, of the same sender, receiver and text', () => {
    const { mailbox, leave } = bench()
    leave()
    const same = (from: string, to: string, text: string) => mailbox.findSame(from, to, text)?.id
    expect(same('Q7LAP', 'Q1ABC', 'bring rope')).toBe(1)
    expect([
      same('Q8LAP', 'Q1ABC', 'bring rope'),
      same('Q7LAP', 'Q2ABC', 'bring rope'),
      same('Q7LAP', 'Q1ABC', 'bring'),
    ]).toEqual([undefined, undefined, undefined])
    mailbox.setSending(1, '07', 'Q1ABC')
    expect(same('Q7LAP', 'Q1ABC', 'bring rope')).toBe(1)
    mailbox.end(1, 'delivered', 2_000)
    expect(same('Q7LAP', 'Q1ABC', 'bring rope')).toBeUndefined()
  })

  it('is sent, shown, prompted and ended as it is told', () => {
    const { mailbox, leave } = bench()
    const first = leave()
    leave()
    const changed = (changes: Partial<MailboxEntry>): void => {
      expect(mailbox.find(1)).toEqual({ ...first, ...changes })
      expect(mailbox.find(2)?.state).toBe('waiting')
    }
    const sending = { state: 'sending', number: '07', collectedBy: 'Q1ABC-7' } as const
    mailbox.setSending(1, '07', 'Q1ABC-7', 'Q5')
    changed({ ...sending, collectQuestionId: 'Q5' })
    mailbox.setSending(1, '07', 'Q1ABC-7')
    changed(sending)
    mailbox.setWaiting(1)
    const waiting = { ...sending, state: 'waiting' } as const
    changed(waiting)
    mailbox.notePrompt([1], 3_000)
    mailbox.notePrompt([1, 9], 4_000)
    const prompted = { promptedWallMs: 4_000, promptCount: 2 }
    changed({ ...waiting, ...prompted })
    mailbox.setShown(1)
    changed({ ...waiting, ...prompted, shown: true })
    mailbox.setPassedOn(1)
    changed({ ...waiting, ...prompted, shown: true, state: 'passed on' })
    mailbox.end(1, 'refused', 6_000, 'why')
    const ended = { ...waiting, ...prompted, shown: true, endedWallMs: 6_000 }
    changed({ ...ended, state: 'refused', reason: 'why' })
    mailbox.end(1, 'delivered', 6_000, undefined, 'Q1ABC-9')
    changed({ ...ended, state: 'delivered', collectedBy: 'Q1ABC-9' })
  })
})

describe('entries are found', () => {
  it('waiting for a station, or any SSID of its call, oldest first', () => {
    const { mailbox, leave, ids } = bench()
    leave({ to: 'Q1ABC-7' })
    leave()
    leave({ to: 'Q1ABC-8' })
    leave({ to: 'Q2ABC' })
    leave()
    mailbox.setSending(5, '1', 'Q1ABC')
    expect(ids(mailbox.waitingFor('Q1ABC-7'))).toEqual([1, 2])
    expect(ids(mailbox.waitingFor('Q1ABC'))).toEqual([2])
  })

  it('under way to a station, or to any', () => {
    const { mailbox, leave, ids } = bench()
    for (let count = 0; count < 4; count++) leave()
    mailbox.setSending(3, '3', 'Q1ABC-7', 'Q5')
    mailbox.setSending(1, '1', 'Q1ABC-7', 'Q5')
    mailbox.setSending(2, '2', 'Q1ABC')
    expect(ids(mailbox.sending())).toEqual([1, 2, 3])
    expect(ids(mailbox.sendingTo('Q1ABC-7'))).toEqual([1, 3])
    expect(ids(mailbox.collectedBy('Q5'))).toEqual([1, 3])
    mailbox.end(1, 'delivered', 2_000)
    expect(ids(mailbox.sendingTo('Q1ABC-7'))).toEqual([3])
    // whatever its state
    expect(ids(mailbox.collectedBy('Q5'))).toEqual([1, 3])
  })

  it('waiting, whoever they are for, but those that came by mail', () => {
    const { mailbox, leave, ids } = bench()
    leave({ to: 'Q2ABC' })
    leave({ answerTo: 'ann@example.org' })
    leave()
    leave()
    mailbox.end(4, 'withdrawn', 2_000)
    expect(ids(mailbox.waiting())).toEqual([1, 3])
  })

  it('of a sender while they are open, and counted, of a receiver, and in all', () => {
    const { mailbox, leave, ids } = bench()
    const counts = () => [
      ...[mailbox.openCountFrom('Q7LAP'), mailbox.openCountFor('Q1ABC'), mailbox.openCount],
    ]
    expect(counts()).toEqual([0, 0, 0])
    leave()
    leave({ to: 'Q2ABC' })
    leave({ from: 'Q8LAP' })
    leave()
    mailbox.setSending(1, '1', 'Q1ABC')
    mailbox.end(4, 'expired', 2_000)
    expect(counts()).toEqual([2, 2, 3])
    expect(ids(mailbox.openFrom('Q7LAP'))).toEqual([1, 2])
  })

  it('of one text to several, which counts once', () => {
    const { mailbox, leave, ids } = bench()
    leave({ questionId: 'Q1>Q1ABC' })
    leave({ questionId: 'Q1>Q2ABC' })
    leave({ questionId: 'Q2>Q3ABC' })
    leave({ questionId: 'Q3' })
    leave({ questionId: 'Q10>Q1ABC', from: 'Q8LAP' })
    mailbox.end(1, 'delivered', 2_000)
    expect(ids(mailbox.ofSeveral('Q1'))).toEqual([1, 2])
    expect(ids(mailbox.ofSeveral('Q1>Q2ABC'))).toEqual([1, 2])
    expect(ids(mailbox.ofSeveral('Q3'))).toEqual([])
    expect(mailbox.openCountFrom('Q7LAP')).toBe(3)
    expect(mailbox.newestOfSeveral('Q7LAP')?.id).toBe(3)
    expect(mailbox.newestOfSeveral('Q9LAP')).toBeUndefined()
  })

  it('that came by mail to a station, the latest', () => {
    const { mailbox, leave } = bench()
    for (const answerTo of ['ann@example.org', 'bob@example.org', undefined])
      leave(answerTo === undefined ? {} : { answerTo })
    for (const id of [1, 2, 3]) mailbox.setSending(id, `${id}`, 'Q1ABC-7')
    expect(mailbox.lastByMailTo('Q1ABC-7')?.id).toBe(2)
    expect(mailbox.lastByMailTo('Q1ABC')).toBeUndefined()
  })
})

describe('the time of an entry', () => {
  it('is over at its end, for what waits, where it is trusted; the oldest first, so many', () => {
    const { mailbox, leave, ids } = bench()
    leave({ expiresWallMs: 4_000 })
    leave({ expiresWallMs: 3_000 })
    leave({ expiresWallMs: 2_000, expiryTrusted: false })
    leave({ expiresWallMs: 2_500 })
    leave({ expiresWallMs: 4_001 })
    mailbox.setSending(4, '4', 'Q1ABC')
    expect(ids(mailbox.expired(4_000, 9))).toEqual([2, 1])
    expect(ids(mailbox.expired(4_000, 1))).toEqual([2])
    expect(ids(mailbox.expired(2_999, 9))).toEqual([])
  })

  it('begins when the clock is trusted, for so many at a time', () => {
    const { mailbox, leave } = bench()
    for (let count = 0; count < 3; count++) leave({ expiryTrusted: false })
    leave()
    expect(mailbox.untrustedCount).toBe(3)
    expect([mailbox.trustExpiry(9_000, 2), mailbox.untrustedCount]).toEqual([2, 1])
    expect([mailbox.trustExpiry(9_000, 2), mailbox.trustExpiry(9_000, 2)]).toEqual([1, 0])
    expect(mailbox.recent(9).map(({ expiresWallMs }) => expiresWallMs)).toEqual([
      ...[9_000, 9_000, 9_000, 5_000],
    ])
  })

  it('is cut where the clock was ahead, of what waits', () => {
    const { mailbox, leave } = bench()
    leave({ expiresWallMs: 9_000 })
    leave({ expiresWallMs: 7_000 })
    leave({ expiresWallMs: 9_000, expiryTrusted: false })
    leave({ expiresWallMs: 9_000 })
    mailbox.end(4, 'delivered', 2_000)
    mailbox.capExpiry(8_000)
    expect(mailbox.recent(9).map(({ expiresWallMs }) => expiresWallMs)).toEqual([
      ...[8_000, 7_000, 9_000, 9_000],
    ])
  })
})
