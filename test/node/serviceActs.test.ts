import { afterEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { Service, ServiceContext } from '../../src/services/service.js'
import { type TestNode, testNode } from './testNode.js'

let node: TestNode | undefined
afterEach(() => {
  node?.node.stop()
  node?.store.close()
})

/** Sends and posts what it is asked to; counts in its data. */
const acting = (more: Partial<Service> = {}): Service => ({
  ...{ keyword: 'act', summary: 'acts', usage: 'act', takes: 'text' },
  answer({ rest, words }, context) {
    const [what, call = ''] = words
    if (what === 'send') context.effects.send('act', call, `for ${call}`)
    if (what === 'post') context.effects.post('act', rest.slice(5))
    if (what === 'fail') {
      context.effects.send('act', 'Q1KIT', 'never')
      throw new Error('after it has sent')
    }
    return 'done'
  },
  ...more,
})

const count = ({ storage }: ServiceContext, key: string): void =>
  storage.write('act', new Map([[key, String(Number(storage.read('act').get(key) ?? 0) + 1)]]))

const start = (service: Service) => {
  node = testNode({ services: [service] })
  return node
}
const textsTo = (call: string): string[] =>
  node!.port.sent
    .map(({ line }) => line)
    .filter((line) => line.includes(`::${call.padEnd(9)}:`))
    .map((line) => line.replace(/.*::.{9}:/, ''))

describe('a service that acts', () => {
  it('sends to a third station together with its answer, numbered, and repeats until it is acknowledged', async () => {
    const { ask, wait, events, hear } = start(acting())
    ask('N0CALL-7', 'act send Q1KIT-9')
    await wait(20)
    expect(textsTo('N0CALL-7').at(-1)).toMatch(/^done/)
    const [sent] = textsTo('Q1KIT-9')
    expect(sent).toMatch(/^for Q1KIT-9\{\w+$/)
    expect(events).toContainEqual(
      expect.objectContaining({ kind: 'queued', station: 'Q1KIT-9', reason: 'by the service act' }),
    )
    await wait(60)
    expect(textsTo('Q1KIT-9').length).toBeGreaterThan(1)
    const before = textsTo('Q1KIT-9').length
    hear(`Q1KIT-9>APZRPP::N0DE-10  :ack${/\{(\w+)$/.exec(sent!)![1]}`)
    await wait(300)
    expect(textsTo('Q1KIT-9').length).toBe(before)
  })

  it('sends nothing to the node itself, nor to a station that is ignored, and says why', async () => {
    node = testNode({ services: [acting()], options: { ignored: ['Q1KIT'] } })
    const { ask, wait, events } = node
    ask('N0CALL-7', 'act send N0DE-10')
    await wait(20)
    ask('N0CALL-8', 'act send Q1KIT-3')
    await wait(20)
    for (const call of ['N0CALL-7', 'N0CALL-8']) expect(textsTo(call).join()).toMatch(/done/)
    for (const call of ['N0DE-10', 'Q1KIT-3']) expect(textsTo(call)).toEqual([])
    expect(events.filter(({ kind }) => kind === 'refused')).toEqual([
      expect.objectContaining({
        ...{ text: 'for Q1KIT-3', station: 'Q1KIT-3' },
        reason: 'by the service act: this station is ignored',
      }),
    ])
    expect(events.some(({ station }) => station === 'N0DE-10')).toBe(false)
  })

  it.each([
    [false, '2'],
    [true, '4'],
  ])('in quiet hours it acts only where it only keeps (%s)', async (onlyKeeps, byNight) => {
    const acts = {
      ...{ everyMs: 600_000, onHeard: false, onlyKeeps },
      act: async (_: unknown, context: ServiceContext) => count(context, 'times'),
    }
    const clock = virtualClock(Date.UTC(2026, 5, 21, 21, 35))
    const quiet = { fromMinute: 22 * 60, toMinute: 6 * 60 }
    node = testNode({ clock, options: { quiet }, services: [acting({ acts })] })
    const times = () => node!.store.serviceData.all('act').get('times')
    await node.wait(45 * 60)
    expect(times()).toBe(byNight)
  })

  it('sends nothing where its answer failed, nothing to itself, and 30 an hour at most', async () => {
    const { ask, wait, events, store } = start(acting())
    ask('N0CALL-1', 'act fail')
    ask('N0CALL-2', 'act send N0DE-10')
    await wait(5)
    expect(textsTo('Q1KIT')).toEqual([])
    for (let at = 0; at < 31; at++) {
      ask(`Q${at}ASK`, `act send Q1T${at}`)
      await wait(30)
    }
    await wait(60)
    const queued = events.filter(({ kind, reason }) => kind === 'queued' && /act$/.test(reason!))
    expect(queued).toHaveLength(30)
    expect(events).toContainEqual(
      expect.objectContaining({ kind: 'refused', reason: expect.stringMatching(/30 messages/) }),
    )
    expect(store.messages.open().filter(({ text }) => text === 'never')).toEqual([])
  })

  it('posts in the name of the node, once a question, and five at a time', async () => {
    const { ask, wait, store } = start(acting())
    for (let at = 0; at < 7; at++) {
      ask(`Q${at}ASK`, `act post notice ${at}`)
      await wait(20)
    }
    const notices = store.notices.current(undefined, 20)
    expect(notices).toHaveLength(5)
    expect(new Set(notices.map(({ from }) => from))).toEqual(new Set(['N0DE-10']))
  })

  it('acts again and again, keeps what it did, and is not told twice of a station in a minute', async () => {
    const heardCalls: string[] = []
    const service = acting({
      acts: {
        everyMs: 600_000,
        onHeard: true,
        async act(occasion, context) {
          if (occasion.kind === 'time') count(context, 'ticks')
          else {
            heardCalls.push(occasion.station.call)
            context.effects.send('act', occasion.station.call, 'welcome')
          }
        },
      },
    })
    const { wait, hear, store } = start(service)
    const data = () => store.serviceData.all('act')
    await wait(599)
    expect(data().get('ticks')).toBeUndefined()
    await wait(70)
    expect(data().get('ticks')).toBe('1')
    await wait(1200)
    expect(data().get('ticks')).toBe('3')
    hear('Q1KIT-9>APZRPP:>on the air')
    hear('Q1KIT-9>APZRPP:>still on the air')
    await wait(10)
    expect(heardCalls).toEqual(['Q1KIT-9'])
    expect(textsTo('Q1KIT-9')[0]).toMatch(/^welcome/)
    await wait(61)
    hear('Q1KIT-9>APZRPP:>and again')
    await wait(1)
    expect(heardCalls).toHaveLength(2)
  })

  it('whose file now says a shorter time does not wait for the longer one', async () => {
    const acts = {
      everyMs: 86_400_000,
      act: (_: unknown, context: ServiceContext) => count(context, 'ticks'),
    }
    const service = acting({ acts } as unknown as Partial<Service>)
    const { wait, store } = start(service)
    await wait(120)
    acts.everyMs = 300_000
    await wait(400)
    expect(store.serviceData.all('act').get('ticks')).toBe('1')
  })

  it('that throws, or never comes back, costs nobody anything', async () => {
    let calls = 0
    const service = acting({
      acts: {
        everyMs: 60_000,
        onHeard: false,
        act() {
          calls++
          return calls < 3 ? Promise.reject(new Error('no meter')) : new Promise(() => {})
        },
      },
    })
    const { wait, ask, events } = start(service)
    await wait(1200)
    expect(events).toContainEqual(
      expect.objectContaining({ kind: 'fault', text: 'the service act', reason: 'no meter' }),
    )
    // five wait for ever; what comes after them is left out
    expect(calls).toBe(7)
    ask('N0CALL-7', 'act')
    await wait(5)
    expect(textsTo('N0CALL-7').at(-1)).toMatch(/^done/)
  })
})
