import { describe, expect, it } from 'vitest'
import { emailWriting, newMessageId, writtenBy } from '../../../src/node/email/emailWriting.js'
import { anna, dayMs, type MailChange, mailAlone, question } from './mailAlone.js'

const outOfOrderEvent = (reference: string): string =>
  `fault the mailbox (N0CALL-7 ${reference}: its database cannot be used: nothing is taken, or handed out, until it can)`

function writing(change: MailChange = {}) {
  const alone = mailAlone(change)
  let soonCount = 0
  const view = emailWriting(alone.parts, () => {
    soonCount++
  })
  return {
    ...{ alone, view, soon: () => soonCount, counts: () => alone.parts.counts.endings },
    write: (text: string, from = 'N0CALL-7', to = anna) =>
      view.write(question(from), to, text, undefined),
  }
}

describe('a mail that somebody writes', () => {
  it('is on the disk as it was written, with what the air cannot carry replaced', () => {
    const { alone, view, soon } = writing()
    const asked = question('N0CALL-7', '4-x')
    expect(view.write(asked, anna, ' all {well}\r\nhere', 'de')).toEqual({ ok: true })
    const leftWallMs = Date.UTC(2026, 5, 21)
    expect(alone.email(1)).toEqual({
      ...{ id: 1, questionId: '4-x', kind: 'letter', from: 'N0CALL-7', language: 'de' },
      ...{ toAddress: 'anna@example.org', toName: 'anna', text: 'all (well)  here' },
      ...{ messageId: '<id1.radio@station.example>', inReplyTo: undefined, leftWallMs },
      ...{ expiresWallMs: leftWallMs + 7 * dayMs, expiryTrusted: true, state: 'waiting' },
      ...{ attempts: 0, underWay: false, unsureCount: 0, endedWallMs: undefined },
      reason: undefined,
    })
    expect(alone.events).toEqual([
      'left mail for anna@example.org: all (well)  here (N0CALL-7 E1: )',
    ])
    expect(soon()).toBe(1)
  })

  it('is in English where no language is given, and waits for a clock that is not right', () => {
    const { alone, write } = writing()
    alone.trusted = false
    write('hello')
    expect(alone.email(1)).toMatchObject({ language: 'en', expiryTrusted: false })
  })

  it('is one mail for a question asked twice, and for a text that waits already', () => {
    const { alone, view, write, soon } = writing({ perSenderDay: 2 })
    const asked = question()
    view.write(asked, anna, 'one', 'en')
    expect(view.write(asked, anna, 'other words', 'en')).toEqual({ ok: true })
    expect(write('one')).toEqual({ ok: true })
    expect(write('one', 'N0CALL-7', { name: 'bert', address: 'bert@example.org' })).toEqual({
      ok: true,
    })
    expect(alone.store.emails.waitingCount).toBe(2)
    expect([alone.events.length, soon()]).toEqual([2, 2])
  })

  it('is refused by the rules, said in the log and counted; nothing is looked at again', () => {
    const { alone, write, soon, counts } = writing()
    expect(write('x', 'Q1ABC')).toEqual({ ok: false, reason: 'sender' })
    expect(write('x'.repeat(101))).toEqual({ ok: false, reason: 'too-long', limit: 100 })
    expect(alone.events).toEqual([
      'refused mail for anna@example.org (Q1ABC : mail: sender)',
      'refused mail for anna@example.org (N0CALL-7 : mail: too-long)',
    ])
    expect(counts()).toEqual([
      { what: 'not kept', reason: 'sender', count: 1 },
      { what: 'not kept', reason: 'too-long', count: 1 },
    ])
    expect([alone.store.emails.waitingCount, soon()]).toEqual([0, 0])
  })

  it('as many may wait, and be written in a day by a call and by all, as is allowed', () => {
    const limits = { waitingMax: 4, perSenderDay: 2, perDay: 3, senders: ['*'] }
    const { alone, write } = writing(limits)
    expect(write('1', 'N0CALL-7')).toEqual({ ok: true })
    expect(write('2', 'N0CALL')).toEqual({ ok: true })
    expect(write('3', 'N0CALL-3')).toEqual({ ok: false, reason: 'day-limit', limit: 2 })
    expect(write('3', 'N0CAL')).toEqual({ ok: true })
    expect(write('4', 'Q1ABC')).toEqual({ ok: false, reason: 'day-limit', limit: 3 })
    alone.clock.advanceBy(dayMs + 1)
    expect(write('4', 'N0CALL-3')).toEqual({ ok: true })
    expect(write('5', 'Q1ABC')).toEqual({ ok: false, reason: 'queue-full' })
  })

  it('is out of order, and says so, where the database does not take it, cannot be read, or stands in for another', () => {
    const outOfOrder = { ok: false, reason: 'out-of-order' }
    const { alone, view, soon } = writing()
    alone.failing.add('a mail that somebody writes')
    expect(view.write(question('N0CALL-7', '1-x'), anna, 'x', 'en')).toEqual(outOfOrder)
    alone.failing.clear()
    alone.unreadable = true
    expect(view.write(question('N0CALL-7', '2-x'), anna, 'x', 'en')).toEqual(outOfOrder)
    alone.unreadable = false
    Object.defineProperty(alone.store, 'degraded', { value: true })
    expect(view.write(question('N0CALL-7', '3-x'), anna, 'x', 'en')).toEqual(outOfOrder)
    expect(alone.events).toEqual(['1', '2', '3'].map(outOfOrderEvent))
    expect([alone.store.emails.waitingCount, soon()]).toEqual([0, 0])
  })

  it('has a Message-ID in the domain of the station', () => {
    const { alone } = writing({ from: 'a@b@hill.example' })
    expect(newMessageId(alone.parts)).toBe('<id1.radio@hill.example>')
  })
})

describe('an answer to a mail that came in', () => {
  /** N0CALL-7 is getting what came from this address. */
  const cameFrom = (alone: ReturnType<typeof mailAlone>, senderName: string | undefined) =>
    alone.store.durably('what came', () => {
      const { id } = alone.store.mailbox.insert({
        ...{ questionId: 'mail 1 0', from: 'N0DE-10', to: 'N0CALL-7', text: 'x', leftWallMs: 0 },
        ...{ expiresWallMs: 1, expiryTrusted: true, senderName, answerId: '<m1@far.example>' },
        answerTo: 'a-writer-with-a-long-name@far.example',
      })
      alone.store.mailbox.setSending(id, '1', 'N0CALL-7')
    })

  it('goes to who wrote that, whoever else may be written to, and only so long a text', () => {
    const { alone, view } = writing()
    expect(view.lastWriterTo('N0CALL-7')).toBe(undefined)
    expect(view.answer(question(), 'yes', 'en')).toEqual({ ok: false, reason: 'receiver' })
    cameFrom(alone, 'mum')
    expect(view.lastWriterTo('N0CALL-7')).toEqual({
      ...{ name: 'mum', address: 'a-writer-with-a-long-name@far.example' },
    })
    expect(view.answer(question(), 'x'.repeat(101), 'en')).toEqual({
      ...{ ok: false, reason: 'too-long', limit: 100 },
    })
    expect(view.answer(question(), 'yes', 'fr')).toEqual({ ok: true })
    expect(alone.email(1)).toMatchObject({
      ...{ toName: 'mum', toAddress: 'a-writer-with-a-long-name@far.example', text: 'yes' },
      ...{ inReplyTo: '<m1@far.example>', language: 'fr', kind: 'letter' },
    })
  })

  it('names a writer without a name by the address, shown at its beginning', () => {
    const { alone, view } = writing()
    cameFrom(alone, undefined)
    expect(view.lastWriterTo('N0CALL-7')?.name).toBe('a-writer-with-a-lo..')
    view.answer(question(), 'yes', 'en')
    expect(alone.email(1)!.toName).toBe('a-writer-with-a-long-name@far.example')
  })

  it('goes to nobody where the database cannot be read', () => {
    const { alone, view } = writing()
    cameFrom(alone, 'mum')
    alone.unreadable = true
    expect(view.lastWriterTo('N0CALL-7')).toBe(undefined)
    expect(view.answer(question(), 'yes', 'en')).toEqual({ ok: false, reason: 'receiver' })
  })
})

describe('what somebody wrote', () => {
  it('is listed newest first with its state, for that SSID alone', () => {
    const { alone, view, write } = writing({ perSenderDay: 10 })
    for (const text of ['1', '2', '3', '4']) write(text)
    write('other', 'N0CALL-8')
    write('long', 'N0CALL-7', { ...anna, name: 'a-very-long-name@example.org' })
    alone.store.durably('states', () => {
      alone.store.emails.noteAttempt(2)
      alone.store.emails.end(3, 'returned', 7)
      alone.store.emails.end(4, 'sent', 8)
    })
    const leftWallMs = Date.UTC(2026, 5, 21)
    const none = undefined
    const expected = [
      {
        number: 'E6',
        to: 'a-very-long-name@e..',
        text: 'long',
        state: 'waiting',
        endedWallMs: none,
      },
      { number: 'E4', to: 'anna', text: '4', state: 'sent', endedWallMs: 8 },
      { number: 'E3', to: 'anna', text: '3', state: 'refused', endedWallMs: 7 },
      { number: 'E2', to: 'anna', text: '2', state: 'sending', endedWallMs: none },
      { number: 'E1', to: 'anna', text: '1', state: 'waiting', endedWallMs: none },
    ].map((one) => ({ ...one, leftWallMs }))
    expect(view.writtenBy?.('N0CALL-7')).toEqual(expected)
    alone.unreadable = true
    expect(view.writtenBy?.('N0CALL-7')).toEqual([])
  })

  it('is a hundred at most', () => {
    let most = 0
    const emails = {
      writtenBy(_: string, countMax: number) {
        most = countMax
        return []
      },
    }
    expect(writtenBy(emails, 'N0CALL-7')).toEqual([])
    expect(most).toBe(100)
  })
})

describe('a mail that its sender takes back', () => {
  it('is ended, and said to be perhaps on its way where a server may have it', () => {
    const { alone, view, write } = writing()
    write('1')
    write('2', 'N0CALL-7', { ...anna, name: 'a-very-long-name@example.org' })
    alone.store.durably('a try', () => {
      alone.store.emails.noteAttempt(2)
      alone.store.emails.noteWaiting(2, true)
    })
    alone.events.length = 0
    expect(view.withdraw?.(question(), 'E1')).toEqual({
      ...{ kind: 'withdrawn', to: 'anna', perhaps: false },
    })
    expect(view.withdraw?.(question(), 'E2')).toEqual({
      ...{ kind: 'withdrawn', to: 'a-very-long-name@e..', perhaps: true },
    })
    expect(alone.email(1)).toMatchObject({
      ...{ state: 'withdrawn', reason: 'by its sender', endedWallMs: alone.clock.wallMs() },
    })
    expect(alone.events[0]).toBe(
      'given up mail for anna@example.org: 1 (N0CALL-7 E1: its sender took it back)',
    )
  })

  it.each(['E9', 'E', '1', 'xE1', 'E1x', 'E1234567890123', 'E2'])('is none by %s', (number) => {
    const { alone, view, write } = writing()
    write('1')
    write('other', 'N0CALL-8')
    expect(view.withdraw?.(question(), number)).toEqual({ kind: 'unknown' })
    expect(alone.store.emails.waitingCount).toBe(2)
  })

  it('is found by a number of several figures', () => {
    const { view, write } = writing({ perSenderDay: 12 })
    for (let n = 1; n <= 12; n++) write(`${n}`)
    expect(view.withdraw?.(question(), 'E12')).toMatchObject({ kind: 'withdrawn' })
  })

  it('is none of the station itself', () => {
    const { alone, view } = writing()
    alone.store.durably('an alert', () =>
      alone.store.emails.insert({
        ...{ questionId: 'alert', kind: 'alert', from: 'N0DE-10', toAddress: 'a@b', toName: 'a@b' },
        ...{ text: 'x', messageId: '<a>', inReplyTo: undefined, language: 'en', leftWallMs: 0 },
        ...{ expiresWallMs: 1, expiryTrusted: true },
      }),
    )
    expect(view.withdraw?.(question('N0DE-10'), 'E1')).toEqual({ kind: 'unknown' })
  })

  it('is over once it ended, or is being given to the server', () => {
    const { alone, view, write } = writing()
    write('1')
    write('2')
    alone.store.durably('states', () => {
      alone.store.emails.end(1, 'sent', 7)
      alone.store.emails.noteAttempt(2)
    })
    expect(view.withdraw?.(question(), 'E1')).toMatchObject({
      ...{ kind: 'over', message: { number: 'E1', state: 'sent' } },
    })
    expect(view.withdraw?.(question(), 'E2')).toMatchObject({
      ...{ kind: 'over', message: { number: 'E2', state: 'sending' } },
    })
  })

  it('waits on where the database does not take that, cannot be read, or stands in for another', () => {
    const { alone, view, write } = writing()
    write('1')
    alone.events.length = 0
    alone.failing.add('a mail that its sender takes back')
    expect(view.withdraw?.(question('N0CALL-7', '1-x'), 'E1')).toEqual({ kind: 'out-of-order' })
    alone.failing.clear()
    alone.unreadable = true
    expect(view.withdraw?.(question('N0CALL-7', '2-x'), 'E1')).toEqual({ kind: 'out-of-order' })
    alone.unreadable = false
    Object.defineProperty(alone.store, 'degraded', { value: true })
    expect(view.withdraw?.(question('N0CALL-7', '3-x'), 'E1')).toEqual({ kind: 'out-of-order' })
    expect(alone.events).toEqual(['1', '2', '3'].map(outOfOrderEvent))
    expect(alone.email(1)!.state).toBe('waiting')
  })
})

describe('a name for an address', () => {
  const address = 'mum@example.org'
  it('is one of every SSID, can be changed and forgotten, and is told to the log', () => {
    const { alone, view } = writing()
    expect(view.setName(question('N0CALL-7'), 'mum', address)).toEqual({ ok: true })
    expect(view.namesOf('N0CALL-3')).toEqual([{ name: 'mum', address }])
    expect(view.receiverOf('N0CALL', 'Mum')).toEqual({ name: 'mum', address })
    expect(view.receiverOf('Q1ABC', 'hut')).toEqual({
      name: 'hut',
      address: 'hut@mountain.example',
    })
    expect(view.receiverOf('Q1ABC', 'mum')).toBe(undefined)
    view.setName(question('N0CALL-3'), 'mum', 'new@example.org')
    expect(view.setName(question('N0CALL'), 'mum', undefined)).toEqual({ ok: true })
    expect(view.setName(question('N0CALL'), 'mum', undefined)).toEqual({
      ...{ ok: false, reason: 'unknown' },
    })
    expect(view.namesOf('N0CALL')).toEqual([])
    expect(alone.events).toEqual([
      'left name mum: mum@example.org (N0CALL-7 : )',
      'left name mum: new@example.org (N0CALL-3 : )',
      'left name mum: none (N0CALL : )',
    ])
  })

  it('there are as many of one call, and of all, as is allowed; known ones can still be changed', () => {
    const { view } = writing({ senders: ['N0CALL', 'Q1ABC'], namesPerSender: 2, namesTotal: 3 })
    const set = (from: string, name: string) => view.setName(question(from), name, address)
    expect([set('N0CALL-1', 'a'), set('N0CALL-2', 'b')]).toEqual([{ ok: true }, { ok: true }])
    expect(set('N0CALL-3', 'c')).toEqual({ ok: false, reason: 'names-full', limit: 2 })
    expect(set('Q2XYZ', 'a')).toEqual({ ok: false, reason: 'names-full', limit: 2 })
    expect(set('Q1ABC', 'a')).toEqual({ ok: true })
    expect(set('Q1ABC', 'b')).toEqual({ ok: false, reason: 'names-full', limit: 3 })
    expect(set('N0CALL', 'a')).toEqual({ ok: true })
  })

  it('is out of order where the database does not take it, cannot be read, or stands in for another', () => {
    const { alone, view } = writing()
    const outOfOrder = { ok: false, reason: 'out-of-order' }
    alone.failing.add('a name that somebody gives')
    expect(view.setName(question('N0CALL-7', '1-x'), 'mum', address)).toEqual(outOfOrder)
    alone.failing.clear()
    alone.unreadable = true
    expect(view.setName(question('N0CALL-7', '2-x'), 'mum', address)).toEqual(outOfOrder)
    expect(view.namesOf('N0CALL-7')).toEqual([])
    alone.unreadable = false
    Object.defineProperty(alone.store, 'degraded', { value: true })
    expect(view.setName(question('N0CALL-7', '3-x'), 'mum', address)).toEqual(outOfOrder)
    expect(alone.events).toEqual(['1', '2', '3'].map(outOfOrderEvent))
    expect(alone.store.emails.nameCount()).toBe(0)
  })
})
