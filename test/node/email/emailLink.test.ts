import { describe, expect, it } from 'vitest'
import type { MailboxEntry } from '../../../src/store/mailbox.js'
import { dayMs, incoming, type MailChange, mailAlone, minuteMs, noLink } from './mailAlone.js'

/** A running link whose inbox holds these, of a node that has heard N0CALL-7. */
async function looking(change: MailChange = {}, keys: readonly string[] = []) {
  const alone = mailAlone(change)
  const atWallMs = alone.clock.wallMs()
  alone.store.stations.add({ call: 'N0CALL-7', atWallMs, radio: 0, via: [] })
  for (const key of keys) alone.inbox.set(key, incoming({ text: key }))
  const link = alone.link()
  link.start()
  await alone.advance(0)
  return { alone, link }
}

const oneOf = (what: string, reason = '', count = 1) => ({ what, reason, count })

describe('the inbox', () => {
  it('is looked at when the node starts, and again each time, until it stops', async () => {
    const { alone, link } = await looking({ inbox: { lookMs: 1_000 } }, ['one'])
    expect(alone.waitsFor).toEqual(['N0CALL-7'])
    expect(alone.lookCount).toBe(1)
    await alone.advance(999)
    expect(alone.lookCount).toBe(1)
    await alone.advance(1)
    expect(alone.lookCount).toBe(2)
    link.stop()
    await alone.advance(minuteMs)
    expect(alone.lookCount).toBe(2)
    expect(link.state.counts).toEqual([oneOf('taken')])
  })

  it('is there for nobody who has none', async () => {
    const alone = mailAlone()
    alone.link({ withoutInbox: true }).start()
    await alone.advance(10 * minuteMs)
    expect([alone.lookCount, alone.events]).toEqual([0, []])
  })

  it('is looked at by one look at a time, and what comes after the stop stays', async () => {
    let end = (): void => {}
    const { alone, link } = await looking({ inbox: { lookMs: 1_000 } })
    alone.nextLook = new Promise((resolve) => {
      end = resolve
    })
    await alone.advance(5_000)
    expect(alone.lookCount).toBe(2)
    alone.inbox.set('late', incoming())
    link.stop()
    end()
    await alone.advance(0)
    expect([...alone.inbox.keys()]).toEqual(['late'])
    expect([alone.waitsFor, link.state.counts]).toEqual([[], []])
  })

  it('that cannot be looked at is a fault, and looked at the next time', async () => {
    const { alone } = await looking({ inbox: { lookMs: 1_000 } })
    alone.nextLook = Promise.reject(new Error('no such folder'))
    alone.nextLook.catch(() => {})
    await alone.advance(1_000)
    expect(alone.events).toEqual(['fault looking for mail ( : no such folder)'])
    await alone.advance(1_000)
    expect(alone.lookCount).toBe(3)
  })

  it('tells the log what it refuses, by whom, and counts; what is for later is counted, too', async () => {
    const { alone, link } = await looking()
    alone.inbox.set('one', incoming({ from: 'eve@x.example' }))
    alone.inbox.set('two', incoming({ from: 'x'.repeat(150), automatic: true }))
    await alone.advance(2 * minuteMs)
    const machine = 'it was written by a machine, or for a list'
    expect(alone.events).toEqual([
      'refused mail from eve@x.example ( : eve@x.example is not in email.inbox.senders)',
      `refused mail from ${'x'.repeat(100)} ( : ${machine})`,
    ])
    alone.inbox.set('three', incoming())
    alone.failing.add('a mail that came in')
    await alone.advance(2 * minuteMs)
    expect(link.state.counts).toEqual([
      oneOf('not taken', 'eve@x.example is not in email.inbox.senders'),
      oneOf('not taken', machine),
      oneOf('not taken yet'),
    ])
    expect(alone.events).toHaveLength(2)
  })

  it('has what was written to its senders go out behind a look', async () => {
    const { alone, link } = await looking({ inbox: { lookMs: 1_000 } })
    const entry = entryOf({})
    await alone.advance(500)
    alone.store.durably('its end', () => {
      const { entryEnded } = { ...link }
      entryEnded(entry, 'delivered')
    })
    await alone.advance(0)
    expect(alone.mails).toHaveLength(1)
  })
})

const entryOf = (change: Partial<MailboxEntry>): MailboxEntry => ({
  ...{ id: 4, questionId: 'mail key 2', from: 'N0DE-10', to: 'N0CALL', text: 'Dinner?' },
  ...{ leftWallMs: 0, expiresWallMs: 1, expiryTrusted: true, state: 'delivered', number: '1' },
  ...{ collectedBy: 'N0CALL-7', collectQuestionId: undefined, promptedWallMs: undefined },
  ...{ shown: false, promptCount: 0, endedWallMs: 1, reason: undefined, senderName: 'anna' },
  ...{ answerTo: 'anna@example.org', answerId: '<m1@example.org>', ...change },
})

describe('a report to who wrote a mail', () => {
  it.each([
    ['delivered', {}, 'Your message to N0CALL-7 was delivered by radio: Dinner?'],
    ['refused', {}, 'Your message to N0CALL-7 was refused by the radio that it was for: Dinner?'],
    [
      'expired',
      { collectedBy: undefined },
      'Your message to N0CALL was not collected in time: Dinner?',
    ],
  ] as const)('that was %s is a mail of the node itself', (state, change, text) => {
    const alone = mailAlone({ keepMs: 5_000 })
    alone.link().entryEnded(entryOf(change), state)
    const leftWallMs = alone.clock.wallMs()
    expect(alone.email(1)).toMatchObject({
      ...{ questionId: `mail key ${state}`, kind: 'report', from: 'N0DE-10', text, leftWallMs },
      ...{ toAddress: 'anna@example.org', toName: 'anna@example.org', language: 'en' },
      ...{ messageId: '<id1.radio@station.example>', inReplyTo: '<m1@example.org>' },
      ...{ expiresWallMs: leftWallMs + 5_000, expiryTrusted: true, state: 'waiting' },
    })
  })

  it('is one for the messages that a mail became, of each kind; none for what came by radio', () => {
    const alone = mailAlone()
    const link = alone.link()
    link.entryEnded(entryOf({ questionId: 'mail key 0' }), 'delivered')
    link.entryEnded(entryOf({ questionId: 'mail key 12' }), 'delivered')
    link.entryEnded(entryOf({ questionId: 'mail key 1' }), 'expired')
    link.entryEnded(entryOf({ answerTo: undefined }), 'refused')
    expect(alone.store.emails.waitingCount).toBe(2)
  })

  it('waits for a clock that is right with its time', () => {
    const alone = mailAlone()
    alone.trusted = false
    alone.link().entryEnded(entryOf({}), 'delivered')
    expect(alone.email(1)!.expiryTrusted).toBe(false)
  })

  it.each<[string, MailChange]>([
    ['the mails of a day', { perDay: 1 }],
    ['those that may wait', { waitingMax: 1 }],
  ])('is none where %s are used up, which the log says', (_, change) => {
    const alone = mailAlone(change)
    const link = alone.link()
    link.entryEnded(entryOf({}), 'delivered')
    link.entryEnded(entryOf({ collectedBy: undefined }), 'expired')
    expect(alone.store.emails.waitingCount).toBe(1)
    expect(alone.events).toEqual([
      'refused report to anna@example.org (N0CALL : mail: no more today)',
    ])
  })
})

describe('an alert', () => {
  it('is a mail of the node, and goes out at once', async () => {
    const { alone, link } = await looking({ keepMs: 5_000 })
    expect(link.alert('ops@far.example', ' {x}\nbattery low')).toBe(undefined)
    const leftWallMs = alone.clock.wallMs()
    expect(alone.email(1)).toMatchObject({
      ...{ questionId: 'alert id1', kind: 'alert', from: 'N0DE-10', text: '(x) battery low' },
      ...{ toAddress: 'ops@far.example', toName: 'ops@far.example', language: 'en', leftWallMs },
      ...{ messageId: '<id2.radio@station.example>', inReplyTo: undefined },
      ...{ expiresWallMs: leftWallMs + 5_000, expiryTrusted: true },
    })
    await alone.advance(0)
    expect(alone.mails).toHaveLength(1)
  })

  it('cannot go beyond the mails of a day, or those that may wait, nor without a database', () => {
    const alone = mailAlone({ perDay: 2, waitingMax: 1 })
    const link = alone.link()
    const alert = () => link.alert('ops@far.example', 'x')
    alone.failing.add('an alert by mail')
    expect(alert()).toBe('the database is out of order')
    alone.failing.clear()
    expect([alert(), alert()]).toEqual([undefined, 'no more mail today'])
    alone.store.durably('gone', () => alone.store.emails.end(1, 'sent', 1))
    expect([alert(), alert()]).toEqual([undefined, 'no more mail today'])
    alone.store.durably('gone', () => alone.store.emails.end(2, 'sent', 1))
    expect(alert()).toBe('no more mail today')
    alone.clock.advanceBy(dayMs + 1)
    // what was counted cannot be read: better one too many than none
    alone.unreadable = true
    expect(alert()).toBe(undefined)
    Object.defineProperty(alone.store, 'degraded', { value: true })
    expect(alert()).toBe('the database is out of order')
  })

  it('waits for a clock that is right with its time', () => {
    const alone = mailAlone()
    alone.trusted = false
    alone.link().alert('ops@far.example', 'x')
    expect(alone.email(1)!.expiryTrusted).toBe(false)
  })
})

describe('the state of the link', () => {
  it('has what waits, and says nothing of it where the database cannot be read', async () => {
    const { alone, link } = await looking()
    alone.replies.push(noLink)
    link.alert('ops@far.example', 'x')
    await alone.advance(0)
    expect(link.state).toMatchObject({ waitingCount: 1, trouble: 'no server' })
    alone.unreadable = true
    expect(link.state.waitingCount).toBe(0)
  })

  it('a faulty clock is no reason to end anything, and each minute it is looked at anew', async () => {
    const { alone, link } = await looking({ keepMs: minuteMs, retryMs: dayMs, retryMaxMs: dayMs })
    alone.trusted = false
    alone.replies.push(noLink)
    link.alert('ops@far.example', 'x')
    await alone.advance(3 * minuteMs)
    expect(alone.email(1)).toMatchObject({ state: 'waiting', expiryTrusted: false })
    alone.trusted = true
    alone.failing.add('when mail expires')
    await alone.advance(minuteMs)
    expect(alone.email(1)).toMatchObject({ expiryTrusted: false })
    alone.failing.clear()
    await alone.advance(2 * minuteMs)
    expect(alone.email(1)).toMatchObject({ state: 'expired' })
    link.stop()
  })
})
