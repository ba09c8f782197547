import { describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { createNode } from '../../src/node/node.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { openStore } from '../../src/store/store.js'
import { temporaryFile } from '../store/openTestStore.js'
import { echoService, TestPort, testNode } from './testNode.js'

describe('quiet operation', () => {
  it('writes twice a minute, and nothing that the disk must sync', async () => {
    const node = testNode({ file: temporaryFile() })
    const seconds = 600
    for (let second = 0; second < seconds; second++) {
      // a busy channel: three frames a second, none for us
      for (let index = 0; index < 3; index++) {
        node.hear(`N${index}CALL-7>APZ001:>status ${second} ${index}`)
        await node.wait(0.3)
      }
      await node.wait(0.1)
    }
    const { counters } = node.store.state()
    expect(counters.batchCount).toBeGreaterThan(0)
    expect(counters.batchCount).toBeLessThanOrEqual(seconds / 30 + 1)
    // one at the start: the mailbox is put in order
    expect(counters.durableCount).toBeLessThanOrEqual(1)
    expect(node.store.frames.query({ limit: 10_000 })).toHaveLength(3 * seconds)
    node.store.close()
  })
})

describe('two radios', () => {
  const twoRadios = () => {
    const clock = virtualClock()
    const store = openStore({ file: ':memory:', clock })
    const ports = [new TestPort(clock, 0), new TestPort(clock, 1)] as const
    let id = 0
    const node = createNode({
      ports,
      clock,
      random: seededRandom(1),
      nextId: () => `r${++id}`,
      store,
      services: [echoService],
      options: defaultNodeOptions({ call: 'N0DE-10' }),
    })
    node.start()
    const octets = (line: string) => {
      const parsed = parseLine(line)
      if (!parsed.ok) throw new Error(parsed.reason)
      return encodeFrame(parsed.frame)
    }
    const wait = (seconds: number) => clock.advanceToAsync(clock.monotonicMs() + seconds * 1000)
    return { ports, octets, wait, store }
  }
  const question = 'N0CALL-7>APZ001::N0DE-10  :echo hi{1'

  it('a question is answered on the radio that heard it', async () => {
    const { ports, octets, wait } = twoRadios()
    ports[1].hear(octets(question))
    await wait(2)
    expect(ports[0].sent).toEqual([])
    expect(ports[1].sent).toHaveLength(2)
  })

  it('heard by both, it is acknowledged and answered by one', async () => {
    const { ports, octets, wait, store } = twoRadios()
    for (const port of ports) port.hear(octets(question))
    await wait(2)
    ports[0].hear(octets('N0CALL-7>APZ001::N0DE-10  :ack101'))
    await wait(300)
    expect(ports[0].sent.map(({ line }) => line.split('::')[1])).toEqual([
      'N0CALL-7 :ack1',
      'N0CALL-7 :hi{101',
    ])
    expect(ports[1].sent).toEqual([])
    expect(store.questions.recent(10)).toHaveLength(1)
  })
})
