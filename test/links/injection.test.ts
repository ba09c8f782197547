import fc from 'fast-check'
import { afterEach, describe, expect, it } from 'vitest'
import { smtpSubmission } from '../../src/links/smtp.js'
import type { OutgoingMail } from '../../src/node/email/carrier.js'
import { outgoingMail } from '../../src/node/email/emailText.js'
import { parseEmailAddress } from '../../src/services/email/address.js'
import { emailOptions } from '../../src/setup/emailOptions.js'
import { emailConfig, emailNode, everyEmail } from './emailBench.js'
import { smtpServer } from './smtpServer.js'

/*
 * What comes by radio must mean nothing to a mail server but the text of a mail. So whatever is sent is looked at where the server
 * has it: one receiver, which is an address of the plain form; the headers that we write and no other; the text whole.
 */

const closers: (() => unknown)[] = []
afterEach(async () => {
  for (const close of closers.splice(0).reverse()) await close()
})

const signs = fc.constantFrom(
  ...[
    '\r\n',
    '\n',
    '\r',
    '.',
    '..',
    '\r\n.\r\n',
    '\0',
    '\t',
    ' ',
    ':',
    '<',
    '>',
    '"',
    '\\',
    ',',
    ';',
    '(',
    ')',
    '[',
    ']',
  ],
  ...[
    '@',
    '%',
    '!',
    '{',
    '|',
    '~',
    'ü',
    '🏔',
    '\u2028',
    '\u0085',
    '\u202e',
    '\ud800',
    '=0D=0A',
    '=?utf-8?q?=0A?=',
  ],
  ...[
    'Bcc: eve@example.org',
    'RCPT TO:<eve@example.org>',
    'DATA',
    'QUIT',
    'a',
    'anna',
    'example.org',
    'x'.repeat(300),
  ],
)
const nasty = fc.array(signs, { maxLength: 12 }).map((parts) => parts.join(''))

/** Each is refused by one of the rules: of RFC 5321's forms only the plain one is taken. */
const refusedForms = [
  ...[
    '"anna"@example.org',
    '"a b"@example.org',
    '"a\\"b"@example.org',
    'anna@[192.0.2.1]',
    'anna@192.0.2.1',
  ],
  ...[
    'Anna <anna@example.org>',
    '<anna@example.org>',
    'anna@example.org,eve@example.org',
    'anna(x)@example.org',
  ],
  ...[
    'anna@example.org>',
    'anna@@example.org',
    '@example.org',
    'anna@',
    'anna@-x.org',
    'anna@x-.org',
    'anna@x..org',
  ],
  ...[
    '.anna@example.org',
    'anna.@example.org',
    'a..b@example.org',
    'eve%evil.org@example.org',
    'evil.org!eve@example.org',
  ],
  ...[
    'änna@example.org',
    'anna@exämple.org',
    `${'a'.repeat(65)}@example.org`,
    `a@${'b'.repeat(64)}.org`,
  ],
  ...[
    `a@${'b.'.repeat(130)}org`,
    '@relay.org:anna@example.org',
    'anna@example.org\r\nDATA',
    'anna@example.org ',
    '|cat@example.org',
  ],
]

describe('an address', () => {
  it.each(refusedForms)('%j is refused', (word) => {
    expect(parseEmailAddress(word)).toBeUndefined()
  })
  it.each([
    'anna@example.org',
    "o'neil+hut@mail.example.org",
    'a.b_c-d=e@x',
    '4915550100@sms.example',
  ])('%s is taken', (word) => expect(parseEmailAddress(word)).toBe(word))
  it('that is taken is of plain letters and signs, whatever was sent', () => {
    fc.assert(
      fc.property(nasty, nasty, (one, other) => {
        const address = parseEmailAddress(`${one}@${other}`)
        if (address !== undefined) expect(address).toMatch(/^[\w.+=&'-]{1,64}@[a-z0-9.-]{1,253}$/)
      }),
      { numRuns: 5_000, seed: 1 },
    )
  })
})

describe('what comes by radio', () => {
  it('is a mail to one plain address at most, with its text and nothing else, for the server, too', async () => {
    const server = await smtpServer(() => ({}), { disabledCommands: ['STARTTLS', 'AUTH'] })
    const smtp = smtpSubmission({
      ...{ host: '127.0.0.1', port: server.port, tls: 'none', timeLimitMs: 10_000, caFile: '' },
      ...{ user: '', passwordFile: '', name: 'station.example' },
    })
    closers.push(server.close, smtp.close)
    const mails: OutgoingMail[] = []
    const node = emailNode({
      mail: { receivers: ['*'], perSenderDay: 1_000, perDay: 1_000, waitingMax: 1_000 },
      options: { limits: { windowMs: 600_000, perStation: 10_000 } },
      submit: async (mail) => {
        mails.push(mail)
        return { kind: 'later', reply: '450 later' }
      },
    })
    const sent = fc.sample(
      fc.tuple(
        fc.constantFrom('anna@example.org', 'hut', 'anna@example.org\r\nBcc:'),
        nasty,
        nasty,
      ),
      { numRuns: 60, seed: 2 },
    )
    for (const [to, one, other] of sent) {
      // One message has 67 characters; a line of a connection is longer.
      const text = `leave ${to} ${one} ${other}`.slice(0, 120)
      try {
        node.ask('N0CALL-7', text)
      } catch {
        continue // no frame can hold it
      }
      await node.wait(2)
    }
    const kept = everyEmail(node.store)
    expect(kept.length).toBeGreaterThan(15)
    const options = emailOptions(emailConfig())
    for (const email of kept) {
      const mail = outgoingMail(email, 'N0DE-10', options, undefined)
      const result = await smtp.submit(mail)
      expect(result.kind, JSON.stringify(email)).toBe('accepted')
      const [got] = server.received.splice(0)
      expect(server.received).toEqual([])
      expect(['anna@example.org', 'hut@mountain.example']).toContain(got!.to.join())
      const [head = '', ...body] = got!.message.split('\r\n\r\n')
      expect(
        head
          .replace(/\r\n[ \t]+/g, ' ')
          .split('\r\n')
          .map((line) => line.split(':')[0])
          .sort(),
      ).toEqual([
        ...['Content-Transfer-Encoding', 'Content-Type', 'From', 'MIME-Version', 'Message-ID'],
        ...['Subject', 'To'],
      ])
      const decoded = decodedBody(head, body.join('\r\n\r\n'))
      // A lone half of a pair has no UTF-8.
      expect(decoded.split('\r\n\r\n-- \r\n')[0]).toBe(Buffer.from(email.text).toString())
      expect(email.text).not.toMatch(/[\0-\x1f\x7f]/)
    }
  })
})

function decodedBody(head: string, body: string): string {
  if (/base64/i.test(head)) return Buffer.from(body, 'base64').toString('utf8')
  if (!/quoted-printable/i.test(head)) return body
  const octets = body
    .replace(/=\r\n/g, '')
    .replace(/=([0-9A-F]{2})/g, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16)))
  return Buffer.from(octets, 'latin1').toString('utf8')
}
