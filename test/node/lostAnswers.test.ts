import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStore } from '../../src/store/store.js'
import { testNode } from './testNode.js'

describe('an answer that cannot be kept', () => {
  it('its asker is told, also when the acknowledgement has not gone out yet', async () => {
    const clock = virtualClock()
    const store = openStore({ file: ':memory:', clock })
    const { durably } = store
    const failing = {
      ...store,
      durably: ((doing, work) =>
        durably(doing, () => {
          if (doing === 'an answer') throw new Error('disk I/O error')
          return work()
        })) as typeof durably,
    }
    const node = testNode({ clock, store: failing })
    node.ask('N0CALL-7', 'echo hi{1')
    await node.wait(20)
    const [acknowledgement, refusal, ...others] = node.sentTexts()
    expect(acknowledgement).toBe(':N0CALL-7 :ack1')
    expect(refusal).toMatch(/^:N0CALL-7 :\w/)
    expect(others).toEqual([])
  })
})
