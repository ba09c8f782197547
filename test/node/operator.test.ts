import { describe, expect, it } from 'vitest'
import { operatorMessages } from '../../src/node/operatorMessages.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { NewMessage } from '../../src/store/messages.js'
import { testNode } from './testNode.js'

describe('what the operator has the station do', () => {
  it('a message goes numbered, and is repeated until it is acknowledged', async () => {
    const { node, wait, sentTexts, hear, store } = testNode()
    const said = node.say({ to: 'q1abc-7', text: 'Come home {soon}' })
    expect(said).toEqual({ ok: true, reference: 'M1' })
    await wait(1)
    const [first] = sentTexts()
    expect(first).toMatch(/^:Q1ABC-7 {2}:Come home \(soon\)\{\w+$/)
    await wait(20)
    expect(sentTexts()).toContain(first)
    const number = first!.split('{')[1]
    hear(`Q1ABC-7>APZ001::N0DE-10  :ack${number}`)
    await wait(60)
    expect(sentTexts()).toEqual([])
    expect(store.messages.find(1)?.state).toBe('acknowledged')
  })

  it('says why a message cannot go', () => {
    const { node } = testNode()
    expect(node.say({ to: 'no call', text: 'x' })).toMatchObject({ ok: false })
    expect(node.say({ to: 'Q1ABC', text: ' ' })).toEqual({ ok: false, reason: 'there is no text' })
    expect(node.say({ to: 'Q1ABC', text: 'x'.repeat(68) })).toEqual({
      ok: false,
      reason: '68 characters: at most 67 go',
    })
  })

  it('a frame that is dropped is not tried again, and the log says by whom', async () => {
    const { node, port, wait, sentTexts, events, store } = testNode()
    port.mode = 'swallow'
    node.say({ to: 'Q1ABC', text: 'first' })
    node.say({ to: 'Q2ABC', text: 'second' })
    const waiting = node.state().waiting
    expect(waiting.map(({ station }) => station)).toEqual(['Q1ABC', 'Q2ABC'])
    expect(node.drop(waiting[1]!.id, 'dropped by test')).toBe(true)
    expect(node.drop('nothing', 'x')).toBe(false)
    port.mode = 'send'
    await wait(300)
    expect(sentTexts()).toEqual([])
    expect(store.messages.find(2)).toMatchObject({ state: 'given up', reason: 'dropped by test' })
    expect(events).toContainEqual(
      expect.objectContaining({ kind: 'refused', station: 'Q2ABC', reason: 'dropped by test' }),
    )
  })

  it('a message is kept as it is to go, and given to the outbox', () => {
    const clock = virtualClock(1_000)
    const added: unknown[] = []
    const doing: string[] = []
    let isKept = true
    const say = operatorMessages({
      clock,
      store: {
        durably(what: string, work: () => unknown) {
          doing.push(what)
          return isKept ? { ok: true, value: work() } : { ok: false }
        },
        messages: { insert: (message: NewMessage) => ({ ...message, id: 31 }) },
      } as never,
      outbox: { add: (messages: unknown) => void added.push(messages) } as never,
      newNumber: (call) => `number for ${call}`,
      radioFor: (call) => call.length,
      options: { notAfterMs: 500 },
    })
    expect(say({ to: 'q1abc-0', text: ' Come ~ home ' })).toEqual({ ok: true, reference: 'M31' })
    const message = {
      ...{ id: 31, kind: 'reply', to: 'Q1ABC', text: 'Come - home', state: 'waiting' },
      ...{ number: 'number for Q1ABC', radio: 5, createdWallMs: 1_000, notAfterWallMs: 1_500 },
      ...{ replyTo: undefined, questionId: undefined, mailboxId: undefined },
    }
    expect([added, doing]).toEqual([[[message]], ['a message of the operator']])
    isKept = false
    expect(say({ to: 'Q1ABC', text: 'x'.repeat(67) })).toEqual({
      ...{ ok: false, reason: 'it could not be kept in the database' },
    })
    expect(added).toHaveLength(1)
    expect(say({ to: 'Q1ABC-16', text: 'x' })).toMatchObject({ ok: false })
    expect(say({ to: 'Q1ABC-10', text: 'x' })).toMatchObject({ ok: false })
    expect(doing).toHaveLength(3)
  })
})
