import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { clockTrust } from '../../src/runtime/clockTrust.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { boardService, postService } from '../../src/services/board.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { openStore, type Store } from '../../src/store/store.js'
import { echoService, type TestNode, testNode } from './testNode.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-clock-'))
afterAll(() => rmSync(folder, { recursive: true }))

const services = [echoService, leaveService, collectService, boardService, postService]
const hourS = 3_600
const dayS = 86_400

/** A clock whose wall time can be set. */
function settableClock(): VirtualClock & { set(byS: number): void } {
  const inner = virtualClock()
  let byMs = 0
  return {
    ...inner,
    wallMs: () => inner.wallMs() + byMs,
    set(byS) {
      byMs += byS * 1000
    },
  }
}

function bench(given: { store?: Store; clock?: ReturnType<typeof settableClock> } = {}) {
  const clock = given.clock ?? settableClock()
  const store = given.store ?? openStore({ file: ':memory:', clock })
  let mark: number | undefined
  const trust = clockTrust(clock, { networkTimeMark: () => mark })
  const node = testNode({ clock, store, services, clockTrust: trust })
  return {
    clock,
    store,
    node,
    networkTimeComes: () => {
      mark = clock.wallMs()
    },
    events: (kind: string) => node.events.filter((event) => event.kind === kind),
  }
}
const to = (call: string, text: string): string => `:${call.padEnd(9)}:${text}`
const answers = (node: TestNode, call: string): string[] =>
  node.sentTexts().filter((text) => text.startsWith(to(call, '')))

describe('a wall clock that is set back by an hour', () => {
  it('a question of before it is a new one when it comes again, with or without a number', async () => {
    const { clock, node } = bench()
    node.ask('N0CALL-7', 'echo one')
    node.ask('N0CALL-8', 'echo two{5')
    await node.wait(20)
    node.ask('N0CALL-8', 'ackAA')
    await node.wait(20 * 60)
    node.sentTexts()
    clock.set(-hourS)
    node.ask('N0CALL-7', 'echo one')
    node.ask('N0CALL-8', 'echo two{5')
    await node.wait(5)
    const texts = node.sentTexts()
    expect(texts).toContain(to('N0CALL-7', 'one'))
    expect(texts).toContain(to('N0CALL-8', 'ack5'))
    expect(texts).toContainEqual(expect.stringMatching(/^:N0CALL-8 :two\{/))
  })

  it.each([-hourS, 8 * dayS])(
    'a repetition within seconds stays one (set by %d s)',
    async (byS) => {
      const { clock, node } = bench()
      node.ask('N0CALL-8', 'echo two{5')
      await node.wait(3)
      expect(answers(node, 'N0CALL-8')).toHaveLength(2)
      clock.set(byS)
      await node.wait(3)
      node.ask('N0CALL-8', 'echo two{5')
      await node.wait(1)
      // acknowledged again; its answer has its own repetitions
      expect(answers(node, 'N0CALL-8')).toEqual([to('N0CALL-8', 'ack5')])
      expect(node.store.questions.recent(10)).toHaveLength(1)
    },
  )

  it('and so it is for a node that was started anew meanwhile', async () => {
    const file = join(mkdtempSync(join(folder, 'node-')), 'node.db')
    const clock = settableClock()
    const store = openStore({ file, clock })
    const first = bench({ clock, store })
    first.node.ask('N0CALL-7', 'echo one')
    await first.node.wait(10)
    first.node.node.stop()
    store.close()
    clock.set(-hourS)
    const again = bench({ clock, store: openStore({ file, clock }) })
    again.node.ask('N0CALL-7', 'echo one')
    await again.node.wait(5)
    expect(again.node.sentTexts()).toEqual([to('N0CALL-7', 'one')])
    // and a repetition of what the new one has heard is a repetition
    again.node.ask('N0CALL-7', 'echo one')
    await again.node.wait(5)
    expect(again.node.sentTexts()).toEqual([])
  })
})

describe('a wall clock that is set forward by 8 days', () => {
  it('for a minute: what waits goes on waiting, and expires in its own time', async () => {
    const { clock, node, events } = bench()
    await node.wait(2 * hourS)
    node.ask('N0CALL-7', 'leave N0CALL-8 meet at the hut')
    node.ask('N0CALL-7', 'post The path is open')
    await node.wait(hourS)
    clock.set(8 * dayS)
    await node.wait(90)
    node.ask('N0CALL-9', 'board')
    await node.wait(5)
    expect(answers(node, 'N0CALL-9').join()).toContain('The path is open')
    clock.set(-8 * dayS)
    await node.wait(hourS)
    expect(events('expired')).toEqual([])
    expect(events('fault').map(({ reason }) => reason)).toEqual([
      'it was set forward by 8 days; nothing expires until it can be trusted',
      'it was set back by 8 days; nothing expires until it can be trusted',
    ])
    // 7 days after it was left, and no sooner
    await node.wait(7 * dayS - 3 * hourS)
    expect(events('expired')).toEqual([])
    await node.wait(2 * hourS)
    expect(events('expired').map(({ text }) => text)).toEqual(['from N0CALL-7: meet at the hut'])
  })

  it('and is right from then on: what was left before counts from when that is known', async () => {
    const { clock, node, networkTimeComes, events } = bench()
    // a board without a clock chip: left in some other year
    node.ask('N0CALL-7', 'leave N0CALL-8 meet at the hut')
    node.ask('N0CALL-7', 'post The path is open')
    await node.wait(300)
    clock.set(90 * dayS)
    networkTimeComes()
    await node.wait(60)
    networkTimeComes()
    await node.wait(6 * dayS)
    expect(events('expired')).toEqual([])
    node.ask('N0CALL-9', 'board')
    await node.wait(5)
    expect(answers(node, 'N0CALL-9').join()).toContain('The path is open')
    await node.wait(dayS + hourS)
    expect(events('expired')).toHaveLength(1)
    node.ask('N0CALL-9', 'board')
    await node.wait(5)
    expect(answers(node, 'N0CALL-9').join()).toContain('The board is empty')
  })

  it('while the node was down: what it owes is still answered', async () => {
    const { clock, node, store } = bench()
    await node.wait(10)
    node.node.stop()
    store.durably('what is open', () => {
      const question = {
        from: 'N0CALL-7',
        addressee: 'N0DE-10',
        number: '1',
        text: 'echo late',
        radio: 0,
      }
      store.questions.insert({ ...question, ownPart: '', heardWallMs: clock.wallMs() })
    })
    clock.set(8 * dayS)
    const again = bench({ clock, store })
    await again.node.wait(5)
    expect(again.node.sentTexts()).toContainEqual(expect.stringMatching(/^:N0CALL-7 :late\{/))
    expect(again.events('given up')).toEqual([])
  })
})
