import { describe, expect, it } from 'vitest'
import type { IncomingMail } from '../../../src/node/email/carrier.js'
import { takeMail } from '../../../src/node/email/emailInbox.js'
import { dayMs, incoming, type MailAlone, type MailChange, mailAlone } from './mailAlone.js'

const later = { kind: 'later', reason: 'the database cannot be used' }
const refused = (reason: string) => ({ kind: 'refused', reason })
const noStation = refused('it names no station that is known here')

/** N0CALL-7 was heard. */
function inbox(change: MailChange = {}, more: Parameters<typeof mailAlone>[1] = {}) {
  const alone = mailAlone(change, more)
  const heard = (call: string): void =>
    alone.store.stations.add({ call, atWallMs: alone.clock.wallMs(), radio: 0, via: [] })
  heard('N0CALL-7')
  let key = 0
  const entries = () => alone.store.mailbox.recent(50).toSorted((one, other) => one.id - other.id)
  return {
    ...{ alone, heard },
    take: (mail: Partial<IncomingMail> = {}, its = `key${++key}`) =>
      takeMail(alone.parts, incoming(mail), its),
    entries,
    texts: () => entries().map(({ text }) => text),
  }
}

/** A mail that N0CALL-9 wrote to Anna, under the Message-ID <ours@station.example>. */
function wrote(
  { store, clock }: MailAlone,
  more: { readonly kind?: 'letter' | 'report'; readonly messageId?: string } = {},
) {
  const kept = store.durably('a letter', () =>
    store.emails.insert({
      ...{ questionId: `q ${more.messageId}`, kind: 'letter', from: 'N0CALL-9', text: 'hello' },
      ...{ toAddress: 'Anna@example.org', toName: 'anna', inReplyTo: undefined, language: 'en' },
      ...{ messageId: '<ours@station.example>', leftWallMs: clock.wallMs() },
      ...{ expiresWallMs: clock.wallMs() + dayMs, expiryTrusted: true, ...more },
    }),
  )
  return kept.ok ? kept.value.id : 0
}

describe('a mail that is taken', () => {
  it('lies in the mailbox as of the node itself, with whom it came from and what it answers', () => {
    const { alone, take, entries } = inbox({}, { node: { mailbox: { keepMs: 5_000 } } })
    expect(take({ to: ['N0CALL-7@station.example'], subject: '' })).toEqual({
      ...{ kind: 'taken', what: 'for N0CALL-7' },
    })
    const leftWallMs = alone.clock.wallMs()
    expect(entries()).toMatchObject([
      {
        ...{ questionId: 'mail key1 0', from: 'N0DE-10', to: 'N0CALL-7', text: 'Dinner at six?' },
        ...{ leftWallMs, expiresWallMs: leftWallMs + 5_000, expiryTrusted: true },
        ...{ senderName: 'anna@example.org', answerTo: 'anna@example.org', state: 'waiting' },
        answerId: '<m1@example.org>',
      },
    ])
    expect(alone.events).toEqual([
      'left for N0CALL-7, by mail from anna@example.org: Dinner at six? (N0CALL-7 B1: )',
    ])
    expect(alone.waitsFor).toEqual(['N0CALL-7'])
  })

  it('by a clock that is not right has its time when that is, and a long key is shortened', () => {
    const { alone, take, entries } = inbox()
    alone.trusted = false
    take({}, 'k'.repeat(200))
    expect(entries()).toMatchObject([
      { expiryTrusted: false, questionId: `mail ${'k'.repeat(95)}` },
    ])
  })

  it('comes again as a copy, which nobody is told of', () => {
    const { alone, take, texts } = inbox()
    take({}, 'one')
    expect(take({}, 'one')).toEqual({ kind: 'taken', what: 'a copy of what was taken before' })
    expect([texts().length, alone.events.length, alone.waitsFor.length]).toEqual([1, 1, 1])
  })

  it.each<[string, Partial<IncomingMail>, string | undefined]>([
    ['its receiver', { to: ['n0call-7@Station.Example'] }, 'N0CALL-7'],
    ['a part of its receiver', { to: ['hill+x+n0call-7@station.example'] }, 'N0CALL-7'],
    ['its receiver elsewhere', { to: ['N0CALL-7@else.example'] }, undefined],
    ['its second receiver', { to: ['a@b.example', 'N0CALL-7@station.example'] }, 'N0CALL-7'],
    ['its subject', { subject: '  n0call-7' }, 'N0CALL-7'],
    ['its subject before a comma', { subject: 'N0CALL-7,dinner' }, 'N0CALL-7'],
    ['its subject, answered', { subject: 'Re:AW: FWDE:  N0CALL-7: x' }, 'N0CALL-7'],
    ['its subject, in the midst', { subject: 'dinner N0CALL-7' }, undefined],
    ['a word before it', { subject: 'About: N0CALL-7' }, undefined],
    ['a station not heard', { subject: 'N0CALL-8' }, undefined],
    ['a call of which no SSID was heard', { subject: 'Q9ZZZ' }, undefined],
    ['another SSID of a call', { subject: 'Q1ABC-3' }, undefined],
    ['a call of which an SSID was heard', { subject: 'Q1ABC' }, 'Q1ABC'],
    ['a call of which the first was heard', { subject: 'Q2ABC' }, 'Q2ABC'],
    ['its receiver before its subject', { to: ['Q1ABC@station.example'] }, 'Q1ABC'],
  ])('is for the station that is named by %s', (_, mail, call) => {
    const { alone, heard, take } = inbox()
    for (const one of ['Q1ABC-15', 'Q2ABC-1']) heard(one)
    const subject = mail.to === undefined ? '' : mail.to[0]!.startsWith('Q1') ? 'N0CALL-7' : ''
    expect(take({ subject, ...mail })).toEqual(
      call === undefined ? noStation : { kind: 'taken', what: `for ${call}` },
    )
    expect(alone.waitsFor).toEqual(call === undefined ? [] : [call])
  })

  it('is for a call of which some SSID has written, heard or not', () => {
    const { alone, take } = inbox()
    expect(take({ subject: 'N0CALL' })).toEqual({ kind: 'taken', what: 'for N0CALL' })
    wrote(alone)
    expect(take({ subject: 'N0CALL-2' })).toEqual({ kind: 'taken', what: 'for N0CALL-2' })
  })

  it.each([
    [{ names: { mum: 'anna@example.org', hut: 'x@y.example' } }, 'mum'],
    [{ names: {} }, 'own'],
    [{ names: {} }, 'anna@example.org'],
  ])('names its sender as its receiver does: %j, %s', (change, name) => {
    const { alone, take, entries } = inbox(change)
    alone.store.durably('names', () => {
      if (name === 'own') alone.store.emails.setName('N0CALL', 'own', 'ANNA@example.org')
      alone.store.emails.setName('Q1ABC', 'theirs', 'anna@example.org')
    })
    take()
    expect(entries()).toMatchObject([{ senderName: name }])
  })

  it('shows 24 characters of an address without a name', () => {
    const { take, entries } = inbox({ inbox: { senders: ['*'] } })
    take({ from: 'four-and-twenty@hill.org' })
    take({ from: 'five-and-twenty@hills.org' })
    expect(entries().map(({ senderName }) => senderName)).toEqual([
      ...['four-and-twenty@hill.org', 'five-and-twenty@hills...'],
    ])
  })
})

describe('an answer to a mail of ours', () => {
  const answer = { references: ['<x@y>', '<ours@station.example>'], subject: 'N0CALL-7' }
  const nobody = { inbox: { senders: [] } }

  it('is for who wrote that, whoever else may write', () => {
    const { alone, take } = inbox(nobody)
    wrote(alone)
    expect(take(answer)).toEqual({ kind: 'taken', what: 'for N0CALL-9' })
  })

  it.each<[string, MailChange, Partial<IncomingMail>, { kind?: 'report' }]>([
    ['from somebody else', nobody, { from: 'eve@example.org' }, {}],
    ['to a report', nobody, {}, { kind: 'report' }],
    ['to nothing of ours', nobody, { references: ['<x@y>'] }, {}],
    ['where none are taken', { inbox: { senders: [], answers: false } }, {}, {}],
  ])('is none %s', (_, change, mail, more) => {
    const { alone, take } = inbox(change)
    wrote(alone, more)
    const { from = 'anna@example.org' } = mail
    expect(take({ ...answer, ...mail })).toEqual(refused(`${from} is not in email.inbox.senders`))
  })
})

describe('a mail that is refused', () => {
  it.each<[string, Partial<IncomingMail>, string]>([
    ['by a machine', { automatic: true }, 'it was written by a machine, or for a list'],
    [
      'without an address',
      { from: `<${'x'.repeat(120)}` },
      `no address that is taken: <${'x'.repeat(99)}`,
    ],
    ['from a stranger', { from: 'eve@x.example' }, 'eve@x.example is not in email.inbox.senders'],
    ['for the node', { subject: 'N0DE-10' }, 'no message can be left for N0DE-10'],
    ['without text', { text: '> old' }, 'there is no plain text in it'],
    ['of a notice of no mail', { returned: ['<a@b>'] }, 'a notice of no mail of ours'],
  ])('%s leaves nothing', (_, mail, reason) => {
    const { alone, heard, take, texts } = inbox()
    heard('N0DE-10')
    expect(take(mail)).toEqual(refused(reason))
    expect([texts(), alone.events, alone.waitsFor]).toEqual([[], [], []])
  })

  it('as many messages wait for a station, and for all, as are allowed', () => {
    const { heard, take, texts } = inbox({}, { node: { mailbox: { perReceiver: 2, total: 3 } } })
    for (const call of ['Q1ABC', 'Q2ABC']) heard(call)
    const two = 'x'.repeat(60)
    expect(take()).toMatchObject({ kind: 'taken' })
    expect(take({ text: two })).toEqual(refused('2 messages wait for N0CALL-7 already'))
    expect(take({ subject: 'Q1ABC', text: two })).toMatchObject({ kind: 'taken' })
    expect(take({ subject: 'Q2ABC' })).toEqual(refused('the mailbox is full'))
    expect(texts()).toHaveLength(3)
  })

  it('fills the places of a station to the last', () => {
    const { take } = inbox({}, { node: { mailbox: { perReceiver: 2, total: 2 } } })
    expect(take({ text: 'x'.repeat(60) })).toMatchObject({ kind: 'taken' })
  })
})

describe('a database that', () => {
  it('does not take it leaves the mail for another look, which takes it', () => {
    const { alone, take, texts } = inbox()
    alone.failing.add('a mail that came in')
    expect(take({}, 'one')).toEqual(later)
    alone.failing.clear()
    expect(texts()).toEqual([])
    expect(take({}, 'one')).toEqual({ kind: 'taken', what: 'for N0CALL-7' })
  })

  it('cannot be read, or stands in for another, takes nothing', () => {
    const { alone, take, texts } = inbox()
    alone.unreadable = true
    expect(take()).toEqual(later)
    alone.unreadable = false
    Object.defineProperty(alone.store, 'degraded', { value: true })
    expect(take()).toEqual(later)
    expect(texts()).toEqual([])
  })
})

describe('what its writer wrote', () => {
  it.each([
    ['yes\r\n-- \r\nAnna', 'yes'],
    ['yes\r--\rAnna', 'yes'],
    ['yes\n-- Anna\nno', 'yes -- Anna no'],
    ['yes\nno --\nno', 'yes no -- no'],
    ['yes\n----- Original Message -----  \nold', 'yes'],
    ['yes\n----\nold', 'yes'],
    ['yes\n---\nno', 'yes --- no'],
    ['yes\n--x--no\nno', 'yes --x--no no'],
    ['yes\nno --x--\nno', 'yes no --x-- no'],
    ['-- \nall signature', undefined],
    ['> old\nyes', 'yes'],
    ['yes\n\nOn Monday the hill wrote:\n \n> old\n> older', 'yes'],
    ['On Monday: \n> a\nyes:\n> b', 'yes:'],
    ['yes\nthat is all\n> old', 'yes that is all'],
    ['yes at 6:30 here\n> old', 'yes at 6:30 here'],
    ['A list:\nyes\n> old', 'A list: yes'],
    ['> old\nHe said:\nyes', 'He said: yes'],
    ['He said:\nyes', 'He said: yes'],
    ['On Monday the hill wrote:', 'On Monday the hill wrote:'],
    ['a > b', 'a > b'],
    ['a\n\n \tb', 'a b'],
    ['a {b}', 'a (b)'],
  ])('%j becomes %j', (text, expected) => {
    const { take, texts } = inbox()
    take({ text })
    expect(texts()).toEqual(expected === undefined ? [] : [expected])
  })
})

describe('a long mail', () => {
  const x = (count: number): string => 'x'.repeat(count)
  const a = (count: number): string => 'a'.repeat(count)
  // 67 characters with 'anna@example.org: ' in front, and with '(1) ' behind that
  it.each([
    [x(49), [x(49)]],
    [x(50), [`(1) ${x(45)}`, `(2) ${x(5)}`]],
    [x(90), [`(1) ${x(45)}`, `(2) ${x(45)}`]],
    [x(91), [`(1) ${x(45)}`, `(2) ${x(43)}..`]],
    [x(300), [`(1) ${x(45)}`, `(2) ${x(43)}..`]],
    [`${a(30)} ${x(30)}`, [`(1) ${a(30)}`, `(2) ${x(30)}`]],
    [`${a(23)} ${x(40)}`, [`(1) ${a(23)}`, `(2) ${x(40)}`]],
    [`${a(22)} ${x(40)}`, [`(1) ${a(22)} ${x(22)}`, `(2) ${x(18)}`]],
    [`${a(45)} ${x(40)}`, [`(1) ${a(45)}`, `(2) ${x(40)}`]],
  ])('%s becomes messages, cut between words where one is not too long', (text, expected) => {
    const { take, texts, alone } = inbox({ inbox: { messagesMax: 2 } })
    take({ text })
    expect(texts()).toEqual(expected)
    expect(alone.events).toHaveLength(expected.length)
  })

  it('a blank in the very middle is none to cut at', () => {
    const { take, texts } = inbox({ names: { mum: 'anna@example.org' } })
    take({ text: `${a(29)} ${x(60)}` })
    expect(texts()).toEqual([`(1) ${a(29)} ${x(28)}`, `(2) ${x(32)}`])
  })

  it('has its number behind a name: one message where it is allowed one', () => {
    const { take, texts } = inbox({ inbox: { messagesMax: 1 } })
    take({ text: x(60) })
    expect(texts()).toEqual([`(1) ${x(43)}..`])
  })
})

describe('a notice that a mail could not be delivered', () => {
  const notice = { returned: ['<x@y>', '<ours@station.example>'], automatic: true }

  it.each(['sent', 'unsure'] as const)('ends one that was %s, and its sender is told', (state) => {
    const { alone, take } = inbox()
    const id = wrote(alone)
    alone.store.durably('its end', () => alone.store.emails.end(id, state, 1))
    expect(take(notice, 'its key')).toEqual({
      ...{ kind: 'taken', what: 'mail for Anna@example.org came back' },
    })
    expect(alone.store.durably('again', () => alone.store.emails.noteTaken('its key', 2))).toEqual({
      ...{ ok: true, value: false },
    })
    const reason = 'a later server could not deliver it'
    expect(alone.email(id)).toMatchObject({ state: 'returned', reason })
    expect(alone.told).toEqual(['N0CALL-9: Your mail to anna came back: hello'])
    expect(alone.events).toEqual([
      `rejected mail for Anna@example.org: hello (N0CALL-9 E1: ${reason})`,
    ])
    expect(take(notice)).toEqual(refused('a notice of no mail of ours'))
  })

  it('says nothing of a mail that waits', () => {
    const { alone, take } = inbox()
    wrote(alone)
    expect(take(notice)).toEqual(refused('a notice of no mail of ours'))
  })

  it.each(['that a mail came back', 'what became of a mail'])(
    'waits for another look where the disk does not take %s',
    (doing) => {
      const { alone, take } = inbox()
      const id = wrote(alone)
      alone.store.durably('its end', () => alone.store.emails.end(id, 'sent', 1))
      alone.failing.add(doing)
      expect(take(notice)).toEqual(later)
      expect(alone.email(id)!.state).toBe('sent')
      alone.failing.clear()
      expect(take(notice)).toMatchObject({ kind: 'taken' })
    },
  )
})
