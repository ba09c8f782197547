import { describe, expect, it } from 'vitest'
import { askWorld } from '../../src/cli/ask/askContext.js'
import type { OutgoingMail, Submitted } from '../../src/node/email/carrier.js'
import type { EmailLink } from '../../src/node/email/email.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { leaveService } from '../../src/services/mailbox.js'
import type { TestNode } from '../node/testNode.js'
import { testQuestion } from '../services/testContext.js'
import { openTestStore } from '../store/openTestStore.js'
import { converse, emailConfig, emailNode, everyEmail } from './emailBench.js'

const accepted: Submitted = { kind: 'accepted', reply: '250 OK' }

/** A server that gives these in turn, and takes all after that. */
function server(...replies: Submitted[]) {
  const mails: OutgoingMail[] = []
  const submit = async (mail: OutgoingMail): Promise<Submitted> => {
    mails.push(mail)
    return replies.shift() ?? accepted
  }
  return { mails, submit }
}

const refs = (node: TestNode): string[] =>
  node.events
    .filter(({ reference }) => reference?.startsWith('E'))
    .map(({ kind, reason = '' }) => `${kind}: ${reason}`)

describe('a mail by radio', () => {
  it('is kept, goes out, and its sender is told', async () => {
    const { mails, submit } = server()
    const node = emailNode({ submit })
    node.ask('N0CALL-7', 'leave anna@example.org arrived, all well{1')
    expect(await converse(node)).toEqual([
      'Mail to anna@example.org is kept. You are told when it went.',
      'Your mail to anna@example.org went out: arrived, all well',
    ])
    expect(mails).toMatchObject([
      {
        ...{ from: 'hill@station.example', fromName: 'N0CALL-7 by radio', to: 'anna@example.org' },
        ...{ subject: 'N0CALL-7 by radio', automatic: false, inReplyTo: undefined },
        messageId: expect.stringMatching(/^<[\w-]+\.radio@station\.example>$/),
        dateWallMs: expect.any(Number),
      },
    ])
    expect(mails[0]!.text).toMatch(
      /^arrived, all well\n\n-- \nFrom N0CALL-7 by amateur radio, through N0DE-10, in the clear/,
    )
    expect(everyEmail(node.store)).toMatchObject([{ state: 'sent', attempts: 1, reason: '250 OK' }])
    expect(refs(node)).toEqual(['left: ', 'delivered: 250 OK'])
    expect(node.node.state().email).toEqual({
      ...{ waitingCount: 0, trouble: undefined },
      counts: [{ what: 'sent', reason: '', count: 1 }],
    })
  })

  it('is taken back by its sender alone, while no server has it', async () => {
    const away: Submitted = { kind: 'no-link', reason: 'the mail server cannot be reached' }
    const { mails, submit } = server(away)
    const node = emailNode({ submit })
    node.ask('N0CALL-7', 'leave anna@example.org not this{1')
    await converse(node)
    node.ask('N0CALL-9', 'mail cancel E1{1')
    node.ask('N0CALL-7', 'mail{2')
    expect(await converse(node)).toEqual(['E1 to anna@example.org, left 1min ago, waits: not this'])
    node.ask('N0CALL-7', 'mail cancel E1{3')
    expect(await converse(node)).toEqual(['Message E1 to anna@example.org is withdrawn.'])
    await node.wait(24 * 3600)
    expect(mails).toHaveLength(1)
    node.ask('N0CALL-7', 'leave anna@example.org but this{4')
    await node.wait(1200)
    await converse(node)
    node.ask('N0CALL-7', 'mail cancel E2{5')
    expect((await converse(node)).at(-1)).toMatch(/^E2 to anna@example.org, went out/)
    expect(everyEmail(node.store).map(({ state }) => state)).toEqual(['withdrawn', 'sent'])
  })

  it('waits for a link for days, with longer and longer pauses, and is the same mail each time', async () => {
    const away: Submitted = { kind: 'no-link', reason: 'the mail server cannot be reached' }
    const { mails, submit } = server(...Array.from({ length: 12 }, () => away))
    const node = emailNode({ submit })
    node.ask('N0CALL-7', 'leave hut two beds please{1')
    await converse(node)
    const startMs = node.clock.monotonicMs()
    const times: number[] = []
    while (mails.length < 13 && times.length < 5_000) {
      const before = mails.length
      await node.wait(60)
      if (mails.length > before) times.push(node.clock.monotonicMs() - startMs)
    }
    const gaps = times.map((ms, at) => Math.round((ms - (times[at - 1] ?? 0)) / 60_000))
    expect(gaps).toEqual([5, 10, 20, 40, 80, 160, 240, 240, 240, 240, 240, 240])
    expect(new Set(mails.map(({ messageId }) => messageId)).size).toBe(1)
    expect(await converse(node)).toContain('Your mail to hut went out: two beds please')
    expect(refs(node)[1]).toBe('held: the mail server cannot be reached; again in 5 min')
  })

  it.each([
    [
      { kind: 'refused', code: 550, reply: '550 no such user' },
      'refused',
      'was refused (550): hello',
    ],
    [{ kind: 'accepted', reply: '250 OK' }, 'sent', 'went out: hello'],
  ] as const)('%j ends it, and is told', async (reply, state, words) => {
    const { submit, mails } = server(reply)
    const node = emailNode({ submit })
    node.ask('N0CALL-7', 'leave hut hello{1')
    expect((await converse(node)).at(-1)).toBe(`Your mail to hut ${words}`)
    expect(everyEmail(node.store)).toMatchObject([{ state, reason: reply.reply }])
    await node.wait(100_000)
    expect(mails).toHaveLength(1)
  })

  it('that the server does not want now does not stop the others', async () => {
    const later: Submitted = { kind: 'later', reply: '450 greylisted' }
    const { submit, mails } = server(later)
    const node = emailNode({ submit })
    node.ask('N0CALL-7', 'leave hut one{1')
    await converse(node, 5)
    node.ask('N0CALL-7', 'leave anna@example.org two{2')
    await converse(node, 40)
    expect(mails.map(({ to }) => to)).toEqual(['hut@mountain.example', 'anna@example.org'])
    await node.wait(300)
    expect(mails.map(({ to }) => to).at(-1)).toBe('hut@mountain.example')
    expect(everyEmail(node.store).map(({ state }) => state)).toEqual(['sent', 'sent'])
  })

  it('whose last reply is lost goes again under the same Message-ID, three times at most', async () => {
    const unsure: Submitted = { kind: 'unsure', reason: 'closed' }
    const { submit, mails } = server(unsure, unsure, unsure)
    const node = emailNode({ submit })
    node.ask('N0CALL-7', 'leave hut hello{1')
    await converse(node)
    await node.wait(40_000)
    expect(mails).toHaveLength(3)
    expect(new Set(mails.map(({ messageId }) => messageId)).size).toBe(1)
    expect(everyEmail(node.store)).toMatchObject([{ state: 'unsure', unsureCount: 3 }])
    expect(node.port.sent.map(({ line }) => line).join()).toContain(
      'Your mail to hut went out, perhaps: hello',
    )
  })

  it('that found no link in time is given up, and its sender is told', async () => {
    const submit = async (): Promise<Submitted> => ({ kind: 'no-link', reason: 'away' })
    const node = emailNode({ submit, mail: { keepMs: 3_600_000 } })
    node.ask('N0CALL-7', 'leave hut hello{1')
    await converse(node)
    await node.wait(3_700)
    expect((await converse(node)).concat(node.port.sent.map(({ line }) => line)).join()).toContain(
      'Your mail to hut found no link in time: hello',
    )
    expect(everyEmail(node.store)).toMatchObject([{ state: 'expired' }])
  })
})

describe('a restart', () => {
  it('with a mail that waits takes it up', async () => {
    const clock = virtualClock()
    const { store } = openTestStore(':memory:', clock)
    const first = emailNode({
      ...{ clock, store },
      submit: async () => ({ kind: 'no-link', reason: 'away' }),
    })
    first.ask('N0CALL-7', 'leave hut hello{1')
    await converse(first)
    first.node.stop()
    const { submit, mails } = server()
    const second = emailNode({ clock, store, submit, seed: 2 })
    await second.wait(1)
    expect(mails).toHaveLength(1)
    expect(everyEmail(store)).toMatchObject([{ state: 'sent', unsureCount: 0, attempts: 2 }])
  })

  it('in the middle of handing it over counts as unsure, and the third ends it', async () => {
    const clock = virtualClock()
    const { store } = openTestStore(':memory:', clock)
    const begun: string[] = []
    for (let life = 1; life <= 4; life++) {
      const node = emailNode({
        ...{ clock, store, seed: life },
        submit: (mail) => {
          begun.push(mail.messageId)
          return new Promise(() => {})
        },
      })
      if (life === 1) node.ask('N0CALL-7', 'leave hut hello{1')
      await node.wait(20)
      node.node.stop()
    }
    expect(begun).toHaveLength(3)
    expect(new Set(begun).size).toBe(1)
    expect(everyEmail(store)).toMatchObject([{ state: 'unsure', unsureCount: 3 }])
  })
})

describe('what is allowed', () => {
  const asked = async (node: TestNode, text: string, from = 'N0CALL-7') => {
    node.ask(from, text)
    await node.wait(3)
    const texts = node.sentTexts().filter((one) => !one.includes(':ack'))
    return texts.map((one) => one.slice(11).replace(/\{\w+$/, '')).join(' / ')
  }
  const away = async (): Promise<Submitted> => ({ kind: 'no-link', reason: 'away' })

  it('is what the operator says: senders, receivers, sizes, mails a day of a call, mails that wait', async () => {
    const node = emailNode({
      submit: away,
      mail: { perSenderDay: 2, waitingMax: 3, textOctets: 50, senders: ['N0CALL', 'N1CALL-7'] },
    })
    expect(await asked(node, 'leave anna@example.org one', 'N2CALL-7')).toMatch(/you send no mail/)
    expect(await asked(node, 'leave anna@example.org one', 'N1CALL-8')).toMatch(/you send no mail/)
    expect(await asked(node, 'leave eve@evil.example one')).toMatch(/no mail may go to eve@evil/)
    expect(await asked(node, `leave hut ${'ü'.repeat(26)}`)).toMatch(/at most 50 octets/)
    expect(await asked(node, 'leave "anna"@example.org one')).toMatch(/no mail address or name/)
    expect(await asked(node, 'leave hut one')).toMatch(/Mail to hut is kept/)
    expect(await asked(node, 'leave hut one')).toMatch(/^$|is kept/)
    expect(await asked(node, 'leave hut two', 'N0CALL-9')).toMatch(/Mail to hut is kept/)
    expect(await asked(node, 'leave hut three', 'N0CALL')).toMatch(/at most 2 mails a day/)
    expect(await asked(node, 'leave hut four', 'N1CALL-7')).toMatch(/Mail to hut is kept/)
    expect(await asked(node, 'leave hut five', 'N1CALL-7')).toMatch(/too many mails wait/)
    expect(everyEmail(node.store).map(({ text }) => text)).toEqual(['one', 'two', 'four'])
    expect(node.node.state().email).toMatchObject({ waitingCount: 3, trouble: 'away' })
  })

  it('to name is an address, for every SSID of a call and for nobody else', async () => {
    const { mails, submit } = server()
    const node = emailNode({ submit, mail: { namesPerSender: 1, perSenderDay: 10 } })
    expect(await asked(node, 'name')).toMatch(/No names of yours/)
    expect(await asked(node, 'name Mum anna@example.org')).toMatch(/leave Mum TEXT/)
    expect(await asked(node, 'name dad bert@example.org')).toMatch(/1 names are kept/)
    expect(await asked(node, 'name N1CALL bert@example.org')).toMatch(/cannot be a name/)
    expect(await asked(node, 'name hut "x"@y')).toMatch(/no mail address/)
    expect(await asked(node, 'leave mum hello', 'N0CALL-3')).toMatch(/Mail to mum is kept/)
    expect(mails.map(({ to }) => to)).toEqual(['anna@example.org'])
    expect(await asked(node, 'leave mum hello', 'N1CALL')).toMatch(/not a call sign/)
    expect(await asked(node, 'name mum bert@example.org')).toMatch(/bert@example.org/)
    expect(await asked(node, 'name', 'N0CALL-4')).toMatch(/mum: bert@example.org/)
    expect(await asked(node, 'name mum off', 'N0CALL-5')).toMatch(/forgotten/)
    expect(await asked(node, 'leave mum hello', 'N0CALL-6')).toMatch(/not a call sign/)
  })

  it('is told by `ask`, which keeps nothing', () => {
    const { contextFor } = askWorld(emailConfig(), virtualClock(), undefined)
    const say = (text: string) =>
      leaveService.answer(testQuestion(text), contextFor('N0CALL-7', undefined, []))
    expect(say('anna@example.org hello')).toMatch(/is kept/)
    expect(say('eve@evil.example hello')).toMatch(/no mail may go/)
  })
})

describe('a clock that is years off', () => {
  it('dates no mail, lets none expire, and gives each its time when it is right', async () => {
    let right = false
    let offMs = 0
    const steady = virtualClock(0)
    const clock = { ...steady, wallMs: () => steady.wallMs() + offMs }
    const { mails, submit } = server(
      { kind: 'no-link', reason: 'away' },
      { kind: 'later', reply: '450' },
    )
    const node = emailNode({
      submit,
      mail: { keepMs: 86_400_000 },
      clock,
      clockTrust: {
        ...{ trusted: () => right, confirmed: () => right },
        ...{ steps: { count: 0, lastMs: 0 }, gpsSays: () => {}, wasAhead: () => {} },
      },
    })
    node.ask('N0CALL-7', 'leave hut hello{1')
    await node.wait(400)
    expect(mails).toHaveLength(2)
    expect(mails.map(({ dateWallMs }) => dateWallMs)).toEqual([undefined, undefined])
    offMs = Date.UTC(2026, 5, 21)
    right = true
    await node.wait(3_000)
    expect(mails.at(-1)!.dateWallMs).toBeGreaterThan(Date.UTC(2026, 5, 21))
    expect(everyEmail(node.store)).toMatchObject([{ state: 'sent' }])
  })
})

describe('an alert by mail', () => {
  it('goes as a mail of the station itself, of which nobody is told by radio, within the limits of a day', async () => {
    const { mails, submit } = server({ kind: 'refused', code: 550, reply: '550 no such user' })
    let link: EmailLink | undefined
    const node = emailNode({ submit, mail: { perDay: 2 }, onLink: (one) => (link = one) })
    await node.wait(1)
    expect(link!.alert('ops@far.example', 'Alert battery: 11.9\r\n.\r\nRCPT TO:<x@y>')).toBe(
      undefined,
    )
    expect(await converse(node)).toEqual([])
    expect(mails).toMatchObject([
      {
        ...{ to: 'ops@far.example', fromName: 'N0DE-10 by radio', subject: 'N0DE-10: alert' },
        automatic: true,
        text: expect.stringMatching(
          /^Alert battery: 11\.9 {2}\. {2}RCPT TO:<x@y>\n\n-- \nFrom the amateur radio station N0DE-10\. Nobody reads/,
        ),
      },
    ])
    expect(everyEmail(node.store)).toMatchObject([{ kind: 'alert', state: 'refused' }])
    expect(node.sentTexts()).toEqual([])
    expect(link!.alert('ops@far.example', 'a second')).toBe(undefined)
    expect(link!.alert('ops@far.example', 'a third')).toBe('no more mail today')
    await node.wait(60)
    expect(everyEmail(node.store)).toHaveLength(2)
  })
})
