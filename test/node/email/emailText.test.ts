import { describe, expect, it } from 'vitest'
import type { EmailOptions } from '../../../src/node/email/emailOptions.js'
import {
  emailRuleAgainst,
  emailTooLong,
  receiverNamed,
  senderMayEmail,
} from '../../../src/node/email/emailRules.js'
import { outgoingMail } from '../../../src/node/email/emailText.js'
import type { Email } from '../../../src/store/emails.js'
import { type MailChange, mailAlone } from './mailAlone.js'

const options = (change: MailChange = {}): EmailOptions => mailAlone(change).parts.options

const email = (kind: Email['kind']): Email => ({
  ...{ id: 3, questionId: 'q', kind, from: 'N0CALL-7', toAddress: 'anna@example.org' },
  ...{ toName: 'mum', text: 'all well', messageId: '<1@station.example>', language: 'en' },
  ...{ inReplyTo: '<0@example.org>', leftWallMs: 1, expiresWallMs: 2, expiryTrusted: true },
  ...{ state: 'waiting', attempts: 0, underWay: false, unsureCount: 0 },
  ...{ endedWallMs: undefined, reason: undefined },
})

const inTheClear =
  'From N0CALL-7 by amateur radio, through N0DE-10, in the clear: anybody may have heard it, and anybody hears what you answer.\n'
const toAnswer = 'To answer, reply to this mail with a short plain text, and no business.\n'
const ofTheStation = 'From the amateur radio station N0DE-10. Nobody reads answers to this mail.\n'

describe('a mail as it goes out', () => {
  const head = {
    ...{ from: 'hill@station.example', to: 'anna@example.org', dateWallMs: 5 },
    ...{ messageId: '<1@station.example>', inReplyTo: '<0@example.org>' },
  }
  it.each([
    ['letter', 'N0CALL-7 by radio', 'N0CALL-7 by radio', false, inTheClear + toAnswer],
    ['report', 'N0DE-10 by radio', 'N0DE-10: your mail by radio', true, ofTheStation],
    ['alert', 'N0DE-10 by radio', 'N0DE-10: alert', true, ofTheStation],
  ] as const)('a %s', (kind, fromName, subject, automatic, told) => {
    expect(outgoingMail(email(kind), 'N0DE-10', options(), 5)).toEqual({
      ...{ ...head, fromName, subject, automatic, text: `all well\n\n-- \n${told}` },
    })
  })

  it('without a date, and with the footer of the operator below the rest', () => {
    const mail = outgoingMail(email('alert'), 'N0DE-10', options({ footer: 'Club N0' }), undefined)
    expect(mail.dateWallMs).toBe(undefined)
    expect(mail.text).toBe(`all well\n\n-- \n${ofTheStation}Club N0\n`)
  })

  it.each([
    [true, false],
    [false, true],
  ])('asks for no answer where none is taken: open %s, answers %s', (isOpen, answers) => {
    const { inbox } = options()
    const closed = options({ inbox: { ...inbox, isOpen, answers } })
    expect(outgoingMail(email('letter'), 'N0DE-10', closed, 5).text).toBe(
      `all well\n\n-- \n${inTheClear}`,
    )
  })
})

describe('who may write what to whom', () => {
  it.each([
    [['N0CALL'], 'N0CALL-7', true],
    [['N0CALL-7'], 'N0CALL-7', true],
    [['N0CALL-7'], 'N0CALL-8', false],
    [['*'], 'Q1ANY', true],
    [[], 'N0CALL', false],
  ])('%j lets %s send: %s', (senders, call, may) => {
    expect(senderMayEmail(call, options({ senders }))).toBe(may)
  })

  it.each([
    ['Q1ANY', 'anna@example.org', 'x', { ok: false, reason: 'sender' }],
    ['N0CALL', 'eve@evil.example', 'x', { ok: false, reason: 'receiver' }],
    ['N0CALL', 'HUT@mountain.example', 'x', undefined],
    ['N0CALL', 'anna@example.org', 'x'.repeat(100), undefined],
    ['N0CALL', 'anna@example.org', 'x'.repeat(101), { ok: false, reason: 'too-long', limit: 100 }],
  ])('%s to %s', (from, to, text, refusal) => {
    const names = { hut: 'hut@mountain.example', inn: 'inn@example.net' }
    expect(emailRuleAgainst(options({ names }), from, to, text)).toEqual(refusal)
  })

  it('a text is measured in octets', () => {
    expect(emailTooLong(options(), 'ü'.repeat(50))).toBe(undefined)
    expect(emailTooLong(options(), 'ü'.repeat(51))).toEqual({
      ...{ ok: false, reason: 'too-long', limit: 100 },
    })
  })

  it.each([
    ['Anna@Example.org', { name: 'Anna@example.org', address: 'Anna@example.org' }],
    ['MUM', { name: 'mum', address: 'own@example.org' }],
    ['mum.,;:?!', { name: 'mum', address: 'own@example.org' }],
    ['m.um', undefined],
    ['hut', { name: 'hut', address: 'hut@mountain.example' }],
    ['inn', { name: 'inn', address: 'inn@example.org' }],
    ['nobody', undefined],
    ['constructor', undefined],
    ['q1abc', undefined],
  ])('%s names %j', (word, receiver) => {
    const own = [
      { name: 'mum', address: 'own@example.org' },
      { name: 'inn', address: 'inn@example.org' },
    ]
    const names = { hut: 'hut@mountain.example', mum: 'shared@example.org', q1abc: 'x@example.org' }
    expect(receiverNamed(word, own, { names })).toEqual(receiver)
  })
})
