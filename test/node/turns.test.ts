import { describe, expect, it } from 'vitest'
import { testNode } from './testNode.js'

const textsOf = (node: ReturnType<typeof testNode>): string[] =>
  node.sentTexts().map((text) => text.slice(11).replace(/\{.*/, ''))

describe('a new question of the same station', () => {
  it('drops what is left of an answer that has begun, before its own answer goes out', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one/two/three{1')
    await node.wait(2)
    expect(textsOf(node)).toEqual(['ack1', 'one'])
    node.ask('N0CALL-7', 'echo new{2')
    await node.wait(600)
    expect(new Set(textsOf(node))).toEqual(new Set(['ack2', 'new']))
    const ends = node.store.messages.query().map(({ text, reason }) => `${text}: ${reason}`)
    expect(ends.slice(0, 3)).toEqual(
      ['one', 'two', 'three'].map((text) => `${text}: a newer question came`),
    )
  })

  it('lets an answer that has not begun go out once, whole and first', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one/two{1')
    node.ask('N0CALL-7', 'echo new{2')
    await node.wait(24)
    expect(textsOf(node)).toEqual(['ack1', 'ack2', 'one', 'two', 'new'])
  })
})

describe('error replies', () => {
  it('are sent twice at most', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'nonsense{1')
    await node.wait(600)
    const texts = textsOf(node)
    expect(texts.filter((text) => text.startsWith('"nonsense"'))).toHaveLength(2)
  })
})

describe('a radio that refuses for a while', () => {
  it('costs no try: nothing went out', async () => {
    const node = testNode()
    node.ask('N0CALL-7', 'echo one{1')
    // its queue is full: refused, and not because it may not send
    const { state } = node.port
    node.port.mode = 'refuse'
    node.port.state = () => ({ ...state.call(node.port), transmitBlockedBy: undefined })
    await node.wait(60)
    expect(node.store.messages.query()[0]).toMatchObject({ state: 'waiting', attempts: 0 })
    node.port.mode = 'send'
    await node.wait(500)
    expect(textsOf(node).filter((text) => text === 'one')).toHaveLength(5)
  })
})
