import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openTestStore } from '../store/openTestStore.js'
import { testNode } from './testNode.js'

const dayMs = 86_400_000

describe('mail that expired while the node was off', () => {
  it('ends in short steps, all of it, and nobody waits meanwhile', async () => {
    const clock = virtualClock(1_790_000_000_000)
    const { store } = openTestStore(':memory:', clock)
    const count = 10_000
    store.durably('mail', () => {
      for (let index = 0; index < count; index++)
        store.mailbox.insert({
          ...{ questionId: `Q${index}`, from: `Q${index % 300}AB`, to: `Q${index % 400}CD` },
          ...{ text: `letter ${index}`, leftWallMs: clock.wallMs() - 9 * dayMs },
          ...{ expiresWallMs: clock.wallMs() - dayMs, expiryTrusted: true },
        })
    })
    const node = testNode({ clock, store })
    const { openCount } = store.mailbox
    expect(openCount).toBe(count)
    let left = openCount
    let most = 0
    for (let step = 0; step < 4_000 && left > 0; step++) {
      await node.wait(0.1)
      most = Math.max(most, left - store.mailbox.openCount)
      left = store.mailbox.openCount
    }
    expect(left).toBe(0)
    expect(most).toBeLessThanOrEqual(25)
    node.node.stop()
    store.close()
  })
})
