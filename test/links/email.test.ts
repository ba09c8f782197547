import { describe, expect, it } from 'vitest'
import type { OutgoingMail, Submitted } from '../../src/node/email/carrier.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { TestNode } from '../node/testNode.js'
import { openTestStore } from '../store/openTestStore.js'
import { converse, emailNode, everyEmail } from './emailBench.js'

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
