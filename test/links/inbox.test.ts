import { mkdirSync, readdirSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { maildir } from '../../src/links/maildir.js'
import type { IncomingMail, OutgoingMail, Taken } from '../../src/node/email/carrier.js'
import { temporaryFile } from '../store/openTestStore.js'
import { converse, emailNode, everyEmail } from './emailBench.js'

/** A maildir with these files in new/. */
function folderWith(mails: Readonly<Record<string, string>>): string {
  const folder = temporaryFile('inbox')
  for (const one of ['new', 'cur', 'tmp']) mkdirSync(join(folder, one), { recursive: true })
  for (const [name, text] of Object.entries(mails))
    writeFileSync(join(folder, 'new', name), text.replace(/\n/g, '\r\n'))
  return folder
}

const letter = (headers: string, text = 'Dinner at six?') =>
  `From: Anna <anna@example.org>\nTo: hill@station.example\nMessage-ID: <m1@example.org>\n${headers}\nContent-Type: text/plain; charset=utf-8\n\n${text}\n`

/** A node that has heard N0CALL-7, and has looked at its maildir. */
async function lookedAt(
  mails: Readonly<Record<string, string>>,
  more: Parameters<typeof emailNode>[0]['mail'] = {},
) {
  const folder = folderWith(mails)
  const faults: string[] = []
  const look = maildir({ folder, onFault: (reason) => faults.push(reason) })
  let done = (): void => {}
  const sent: OutgoingMail[] = []
  const node = emailNode({
    mail: more,
    submit: async (mail) => {
      sent.push(mail)
      return { kind: 'accepted', reply: '250 OK' }
    },
    look: (take) => look(take).finally(() => done()),
  })
  node.hear('N0CALL-7>APZ001:>on the way')
  const looked = async (): Promise<void> => {
    const once = new Promise<void>((resolve) => {
      done = resolve
    })
    await node.wait(120)
    await once
  }
  await looked()
  return { node, folder, faults, sent, looked, mailbox: () => node.store.mailbox.recent(50) }
}

const inFolder = (folder: string, part: string): string[] => readdirSync(join(folder, part)).sort()

describe('mail that comes in', () => {
  it.each([
    ['by its receiver', 'Cc: n0call-7@station.example'],
    ['by a part of the receiver', 'Cc: hill+N0CALL-7@station.example'],
    ['by where it was delivered', 'Delivered-To: N0CALL-7@station.example'],
    ['by its subject', 'Subject: N0CALL-7 about dinner'],
    ['by its subject, answered', 'Subject: Re: AW: n0call-7: dinner'],
  ])('for a station that was heard, %s, is told and handed over', async (_, header) => {
    const { node, mailbox, folder, sent } = await lookedAt({ one: letter(header) })
    expect(mailbox()).toMatchObject([
      { from: 'N0DE-10', senderName: 'anna@example.org', to: 'N0CALL-7', text: 'Dinner at six?' },
    ])
    expect([inFolder(folder, 'new'), inFolder(folder, 'cur')]).toEqual([[], ['one:2,S']])
    expect(await converse(node)).toEqual(['1 message waits for you here. Send: collect'])
    node.ask('N0CALL-7', 'collect{1')
    expect(await converse(node)).toEqual([
      '1 message for you follows.',
      'anna@example.org: Dinner at six?',
    ])
    await node.wait(70)
    expect(sent).toMatchObject([
      {
        ...{ to: 'anna@example.org', automatic: true, inReplyTo: '<m1@example.org>' },
        text: expect.stringMatching(/^Your message to N0CALL-7 was delivered by radio: Dinner/),
      },
    ])
    // a report on a report there is not
    expect(mailbox().map(({ state }) => state)).toEqual(['delivered'])
    expect(everyEmail(node.store)).toHaveLength(1)
  })

  it('is taken once, however often it comes', async () => {
    const one = letter('Subject: N0CALL-7')
    const { node, mailbox, folder, looked } = await lookedAt({ one, two: `Received: x\n${one}` })
    expect(mailbox()).toHaveLength(1)
    expect(inFolder(folder, 'cur')).toHaveLength(2)
    writeFileSync(join(folder, 'new', 'three'), one)
    await looked()
    expect(mailbox()).toHaveLength(1)
    expect(node.node.state().email?.counts).toContainEqual({ what: 'taken', reason: '', count: 3 })
  })

  it('becomes as many messages as it may, without quotations and signature', async () => {
    const words = Array.from({ length: 60 }, (_, at) => `word${at}`).join(' ')
    const text = `${words}\n\nOn Monday the hill wrote:\n> N0CALL-7 says hello\n> again\n-- \nAnna, 12 Street`
    const { mailbox } = await lookedAt({ one: letter('Subject: N0CALL-7', text) })
    const texts = mailbox().map((entry) => entry.text)
    expect(texts).toHaveLength(3)
    expect(
      texts.map((one) => `anna@example.org: ${one}`.length).every((length) => length <= 67),
    ).toBe(true)
    expect(texts[0]).toMatch(/^\(1\) word0 word1/)
    expect(texts[2]).toMatch(/^\(3\) .*\.\.$/)
    expect(texts.join()).not.toMatch(/hello|Street|wrote/)
  })

  it('that answers a mail of ours goes to who wrote that, whatever it is called', async () => {
    const { node, folder, mailbox, looked, sent } = await lookedAt(
      {},
      {
        inbox: {
          ...{ isOpen: true, answers: true },
          ...{ senders: [], messagesMax: 3, lookMs: 120_000 },
        },
      },
    )
    node.ask('N0CALL-9', 'leave bert@example.org hello{1')
    await node.wait(10)
    const id = sent[0]!.messageId
    const answer = (from: string) =>
      letter(`In-Reply-To: ${id}\nSubject: Re: your mail`, 'yes')
        .replace('anna@example.org', from)
        .replace('m1@', `${from}.`)
    writeFileSync(join(folder, 'new', 'stranger'), answer('eve@example.org'))
    writeFileSync(join(folder, 'new', 'bert'), answer('Bert@example.org'))
    await looked()
    expect(mailbox()).toMatchObject([
      { to: 'N0CALL-9', text: 'yes', answerTo: 'Bert@example.org', senderName: 'Bert@example.org' },
    ])
    expect(
      node.events.filter(({ kind }) => kind === 'refused').map(({ reason }) => reason),
    ).toEqual(['eve@example.org is not in email.inbox.senders'])
  })

  it('of a server that could not deliver is told to who wrote', async () => {
    const { node, folder, looked, sent } = await lookedAt({})
    node.ask('N0CALL-7', 'leave bert@example.org hello{1')
    await node.wait(10)
    const report = `Return-Path: <>\nFrom: MAILER-DAEMON@example.org\nTo: hill@station.example\nMessage-ID: <r@example.org>\nContent-Type: multipart/report; boundary=x\n\n--x\nContent-Type: text/plain\n\nNo such user.\n--x\nContent-Type: text/rfc822-headers\n\nMessage-ID: ${sent[0]!.messageId}\n--x--\n`
    writeFileSync(join(folder, 'new', 'report'), report)
    await looked()
    expect(everyEmail(node.store)).toMatchObject([{ state: 'returned' }])
    expect(await converse(node)).toContain('Your mail to bert@example.org came back: hello')
  })

  it.each([
    [
      'from a stranger',
      letter('Subject: N0CALL-7').replace('anna@', 'eve@'),
      /not in email.inbox.senders/,
    ],
    ['for a station that nobody knows', letter('Subject: Q9ZZZ hello'), /no station that is known/],
    ['for nobody', letter('Subject: hello'), /no station that is known/],
    [
      'written by a machine',
      letter('Subject: N0CALL-7\nAuto-Submitted: auto-replied'),
      /by a machine/,
    ],
    ['of a list', letter('Subject: N0CALL-7\nList-Id: <club.example.org>'), /by a machine/],
    ['without text', letter('Subject: N0CALL-7', '> all quoted'), /no plain text/],
    ['for the node itself', letter('Subject: N0DE-10 hello'), /no station that is known/],
    ['of no form at all', '\n\n\0\u0007 garbage', /no address/],
    ['too large', letter('Subject: N0CALL-7', 'x'.repeat(1_000_001)), /no address/],
    [
      'from two at once',
      letter('Subject: N0CALL-7').replace('<anna@example.org>', '<anna@example.org@eve.example>'),
      /no address|not in email/,
    ],
  ])('%s is refused with a reason, and put away', async (_, mail, reason) => {
    const { node, mailbox, folder } = await lookedAt({ one: mail })
    expect(mailbox()).toEqual([])
    expect(node.events.filter(({ kind }) => kind === 'refused').map((one) => one.reason)).toEqual([
      expect.stringMatching(reason),
    ])
    expect(inFolder(folder, 'new')).toEqual([])
    expect(node.node.state().faultCount).toBe(0)
  })

  it('stays where it is while the mailbox cannot take it, and what is no file is told', async () => {
    const folder = folderWith({ one: letter('Subject: N0CALL-7') })
    symlinkSync('/dev/zero', join(folder, 'new', 'zero'))
    const faults: string[] = []
    const look = maildir({ folder, onFault: (reason) => faults.push(reason) })
    const later = (_: IncomingMail, __: string): Taken => ({ kind: 'later', reason: 'disk full' })
    await look(later)
    await look(later)
    expect(inFolder(folder, 'new')).toEqual(['one', 'zero'])
    expect(faults).toEqual([`${folder}: zero is left where it is: it is no file`])
    const absent = maildir({ folder: '/nowhere', onFault: (reason) => faults.push(reason) })
    await absent(later)
    expect(faults).toHaveLength(2)
  })
})
