import { afterEach, describe, expect, it } from 'vitest'
import { type SmtpOptions, smtpSubmission } from '../../src/links/smtp.js'
import type { OutgoingMail } from '../../src/node/email/carrier.js'
import {
  type Cut,
  certificateFile,
  cuttingLink,
  passwordFile,
  type Refusals,
  smtpServer,
} from './smtpServer.js'

const mail: OutgoingMail = {
  ...{ from: 'hill@station.example', fromName: 'N0CALL-7 by radio', to: 'anna@example.org' },
  ...{ subject: 'N0CALL-7 by radio', messageId: '<abc.radio@station.example>' },
  ...{ inReplyTo: undefined, dateWallMs: Date.UTC(2026, 5, 21, 16), automatic: false },
  text: 'Grüße vom Grat\n.\n..dot\n\n-- \nFrom N0CALL-7\n',
}

const closers: (() => unknown)[] = []
afterEach(async () => {
  for (const close of closers.splice(0).reverse()) await close()
})

async function opened(
  more: Partial<SmtpOptions> = {},
  refusals: Refusals = {},
  plain = false,
): Promise<{
  submit: (one?: Partial<OutgoingMail>) => ReturnType<ReturnType<typeof smtpSubmission>['submit']>
  received: Awaited<ReturnType<typeof smtpServer>>['received']
  link: Awaited<ReturnType<typeof cuttingLink>>
}> {
  const server = await smtpServer(
    () => refusals,
    plain ? { disabledCommands: ['STARTTLS', 'AUTH'] } : {},
  )
  const link = await cuttingLink(server.port)
  const smtp = smtpSubmission({
    ...{ host: '127.0.0.1', port: link.port, tls: 'starttls', timeLimitMs: 5_000 },
    ...{ caFile: certificateFile(), user: 'hill', passwordFile: passwordFile() },
    ...(plain && { tls: 'none', user: '' }),
    ...{ name: 'station.example', ...more },
  })
  closers.push(server.close, link.close, smtp.close)
  return { submit: (one = {}) => smtp.submit({ ...mail, ...one }), received: server.received, link }
}

describe('SMTP submission to a real server', () => {
  it('over STARTTLS with a login gives it a mail as it is meant', async () => {
    const { submit, received } = await opened()
    expect(await submit()).toMatchObject({ kind: 'accepted', reply: expect.stringMatching(/^250/) })
    expect(received).toHaveLength(1)
    const [{ from, to, message }] = received as [(typeof received)[0]]
    expect([from, to]).toEqual(['hill@station.example', ['anna@example.org']])
    const [head, body] = [
      message.slice(0, message.indexOf('\r\n\r\n')),
      message.split('\r\n\r\n')[1],
    ]
    expect(head.split('\r\n').sort()).toEqual([
      'Content-Transfer-Encoding: quoted-printable',
      'Content-Type: text/plain; charset=utf-8',
      'Date: Sun, 21 Jun 2026 16:00:00 +0000',
      'From: "N0CALL-7 by radio" <hill@station.example>',
      'MIME-Version: 1.0',
      'Message-ID: <abc.radio@station.example>',
      'Subject: N0CALL-7 by radio',
      'To: anna@example.org',
    ])
    expect(body).toMatch(/^Gr=C3=BC=C3=9Fe vom Grat\r\n\.\r\n\.\.dot$/)
  })

  it('leaves the date out while the clock is not trusted, and says what it answers', async () => {
    const { submit, received } = await opened()
    await submit({ dateWallMs: undefined, inReplyTo: '<x@example.org>', automatic: true })
    const head = received[0]!.message.split('\r\n\r\n')[0]!
    expect(head).not.toMatch(/^Date:/m)
    expect(head).toMatch(/^In-Reply-To: <x@example.org>\r$/m)
    expect(head).toMatch(/^Auto-Submitted: auto-replied\r?$/m)
    await submit({ automatic: true })
    expect(received[1]!.message).toMatch(/^Auto-Submitted: auto-generated\r$/m)
  })

  it('over TLS from the start', async () => {
    const server = await smtpServer(() => ({}), { secure: true })
    const smtp = smtpSubmission({
      ...{ host: '127.0.0.1', port: server.port, tls: 'implicit', timeLimitMs: 5_000 },
      ...{
        caFile: certificateFile(),
        user: 'hill',
        passwordFile: passwordFile(),
        name: 'a.example',
      },
    })
    closers.push(server.close, smtp.close)
    expect((await smtp.submit(mail)).kind).toBe('accepted')
  })

  it.each([
    [{ mail: [550, 'not from you'] }, 'refused', '550 not from you'],
    [{ mail: [451, 'busy'] }, 'later', '451 busy'],
    [{ mail: [530, 'who are you'] }, 'no-link', '530 who are you'],
    [{ receiver: [550, 'no such user'] }, 'refused', '550 no such user'],
    [{ receiver: [450, 'try later'] }, 'later', '450 try later'],
    [{ data: [554, 'spam'] }, 'refused', '554 spam'],
    [{ data: [452, 'disk full'] }, 'later', '452 disk full'],
    [{ data: [421, 'shutting down'] }, 'no-link', '421 shutting down'],
  ] as const)('%j is %s', async (refusals, kind, words) => {
    const { submit, received } = await opened({}, refusals)
    const result = await submit()
    expect(result).toMatchObject({ kind })
    expect(JSON.stringify(result)).toContain(words)
    expect(received).toEqual([])
  })

  it('keeps a mail where the server lets nobody in, or is not who it should be', async () => {
    const { submit } = await opened({ passwordFile: passwordFile('wrong') })
    expect(await submit()).toMatchObject({ kind: 'no-link', reason: expect.stringMatching(/^535/) })
    const other = await opened({ caFile: '' })
    expect(await other.submit()).toMatchObject({
      kind: 'no-link',
      reason: expect.stringMatching(/^TLS with the mail server failed/),
    })
    const plain = await opened({ user: '' }, {}, true)
    expect(await plain.submit()).toMatchObject({ kind: 'accepted' })
    // Encryption that was asked for is not gone without.
    const stripped = await opened({ user: '', tls: 'starttls' }, {}, true)
    expect((await stripped.submit()).kind).toBe('no-link')
    expect(stripped.received).toEqual([])
    const absent = await opened({ passwordFile: '/nowhere/password' })
    expect((await absent.submit()).kind).toBe('no-link')
    const nobody = await opened({ port: 1 })
    expect(await nobody.submit()).toEqual({
      kind: 'no-link',
      reason: 'the mail server cannot be reached',
    })
  })
})

/** All of them take a minute and a half: `CUTS=all`. The last ones are those that matter most. */
const everyOctet = process.env.CUTS === 'all'
const lastOctets = 12

describe('a link that breaks', () => {
  it('after any octet either way leaves no mail lost, none refused, and none that the server has without our knowing that it may', async () => {
    const { submit, received, link } = await opened({}, {}, true)
    await submit()
    const { 'to-server': toServer, 'from-server': fromServer } = link.passed
    received.length = 0
    const cuts = (['to-server', 'from-server'] as const).flatMap((way) => {
      const octetCount = way === 'to-server' ? toServer : fromServer
      return Array.from(
        { length: octetCount },
        (_, afterOctets): Cut => ({ way, afterOctets }),
      ).filter(
        ({ afterOctets }) =>
          everyOctet || afterOctets % 23 === 0 || octetCount - afterOctets <= lastOctets,
      )
    })
    const wrong: string[] = []
    const kinds = new Set<string>()
    let hadIt = 0
    for (const cut of cuts) {
      link.cut = cut
      const result = await submit()
      const name = `${cut.way} ${cut.afterOctets}: ${JSON.stringify(result)}`
      const has = received.splice(0).length
      kinds.add(`${cut.way} ${result.kind}`)
      if (has > 0 && result.kind !== 'accepted') hadIt++
      if (result.kind === 'refused' || result.kind === 'later') wrong.push(name)
      if (has > 0 && result.kind === 'no-link') wrong.push(`the server has it: ${name}`)
      if (has === 0 && result.kind === 'accepted') wrong.push(`the server has it not: ${name}`)
    }
    expect(wrong).toEqual([])
    expect(hadIt).toBeGreaterThan(5)
    expect([...kinds].sort()).toEqual([
      'from-server no-link',
      'from-server unsure',
      'to-server no-link',
      'to-server unsure',
    ])
  }, 300_000)
})
