import { describe, expect, it } from 'vitest'
import { testNode } from './testNode.js'

describe('a message that its radio holds', () => {
  it('is in the log once for each reason, and goes out when it may', async () => {
    const { node, port, clock, events, ask, wait, store } = testNode()
    port.mode = 'swallow'
    ask('N0CALL-7', 'echo hello')
    await wait(5)
    const answer = port.swallowed.find(({ octets }) => Buffer.from(octets).includes('hello'))!
    const held = (reason: string): void =>
      port.tell({ id: answer.id, kind: 'held', atMs: clock.monotonicMs(), reason })
    const reasons = () =>
      events.filter(({ kind }) => kind === 'held').map(({ text, reason }) => [text, reason])
    held('the duty limit')
    held('the duty limit')
    expect(reasons()).toEqual([[expect.stringContaining('hello'), 'the duty limit']])
    held('held by operator: for lunch')
    held('the duty limit')
    expect(reasons().map(([, reason]) => reason)).toEqual([
      ...['the duty limit', 'held by operator: for lunch', 'the duty limit'],
    ])
    // of nobody's request nothing is told
    port.tell({ id: 'nobody', kind: 'held', atMs: clock.monotonicMs(), reason: 'x' })
    expect(reasons()).toHaveLength(3)
    port.tell({ id: answer.id, kind: 'sent', atMs: clock.monotonicMs(), airtimeMs: 400 })
    expect(events.filter(({ kind }) => kind === 'sent').at(-1)).toMatchObject({
      ...{ station: 'N0CALL-7', text: expect.stringContaining('hello') },
    })
    node.stop()
    store.close()
  })
})
