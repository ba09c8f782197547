import { describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { createNode } from '../../src/node/node.js'
import type { TransmitRequest } from '../../src/radio/port.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore, type Store } from '../../src/store/store.js'
import { echoService, TestPort, testNode } from './testNode.js'

const broken = (what: string) => (): never => {
  throw new TypeError(`${what} is broken`)
}

describe('what breaks inside', () => {
  it('a frame that cannot be handled: reported once, counted, and the next one is answered', async () => {
    const clock = virtualClock()
    const store = openStore({ file: ':memory:', clock })
    let count = 0
    const add: Store['frames']['add'] = (frame) => {
      if (++count <= 100) broken('the table')()
      store.frames.add(frame)
    }
    const node = testNode({ clock, store: { ...store, frames: { ...store.frames, add } } })
    for (let at = 0; at < 100; at++) node.ask('N0CALL-7', `echo ${at}{${at}`)
    node.ask('N0CALL-8', 'echo hello')
    await node.wait(5)
    expect(node.sentTexts()).toEqual([':N0CALL-8 :hello'])
    const faults = node.events.filter(({ kind }) => kind === 'fault')
    expect(faults).toMatchObject([
      { text: 'a frame that was heard', reason: expect.stringContaining('the table is broken') },
    ])
    expect(node.node.state().faultCount).toBe(100)
  })

  it('a log that cannot be written takes nothing with it', async () => {
    const clock = virtualClock()
    const store = openStore({ file: ':memory:', clock })
    const port = new TestPort(clock)
    const node = createNode({
      ports: [port],
      clock,
      random: seededRandom(1),
      nextId: String,
      store,
      services: [echoService],
      options: defaultNodeOptions({ call: 'N0DE-10' }),
      onEvent: broken('the log'),
    })
    node.start()
    const asked = parseLine('N0CALL-8>APZ001::N0DE-10  :echo hello')
    if (!asked.ok) throw new Error(asked.reason)
    port.hear(encodeFrame(asked.frame))
    await clock.advanceToAsync(5_000)
    expect(port.sent.map(({ line }) => line)).toEqual(['N0DE-10>APZRPT::N0CALL-8 :hello'])
    // in the database it is, once
    const faults = store.events.query({ kinds: ['fault'] })
    expect(faults.map(({ text }) => text)).toEqual(['telling an event'])
    node.stop()
  })

  it('a radio that throws refuses the frame, and it is sent at the next try', async () => {
    const node = testNode()
    const send = node.port.send.bind(node.port)
    let failures = 2
    node.port.send = (request: TransmitRequest) => {
      if (failures-- > 0) broken('the radio')()
      send(request)
    }
    node.ask('N0CALL-8', 'echo hello{1')
    await node.wait(40)
    expect(node.sentTexts()).toContainEqual(expect.stringMatching(/^:N0CALL-8 :hello\{/))
    const refused = node.events.filter(({ kind }: NodeEvent) => kind === 'refused')
    expect(refused).toHaveLength(2)
    expect(refused[0]!.reason).toBe('the radio failed: the radio is broken')
    expect(node.node.state().faultCount).toBe(0)
  })

  it('a step of the start that fails leaves the others to go on', async () => {
    const clock = virtualClock()
    const store = openStore({ file: ':memory:', clock })
    const node = testNode({
      clock,
      store: {
        ...store,
        messages: { ...store.messages, open: broken('the list of messages') },
        mailbox: { ...store.mailbox, sending: broken('the mailbox') },
        questions: { ...store.questions, open: broken('the list of questions') },
        reading: (_doing, _otherwise, read) => read(),
        durably: (_doing, work) => ({ ok: true, value: work() }),
      },
    })
    node.ask('N0CALL-8', 'echo hello')
    await node.wait(5)
    expect(node.sentTexts()).toEqual([':N0CALL-8 :hello'])
    const faults = node.events.filter(({ kind }) => kind === 'fault').map(({ text }) => text)
    expect(faults).toEqual([
      'the mailbox at the start',
      'answers to calls for help',
      'messages under way',
      'questions left open',
    ])
    node.node.stop()
  })
})
