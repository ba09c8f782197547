import { afterEach, describe, expect, it } from 'vitest'
import { serviceActing } from '../../src/node/serviceActs.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { Service, ServiceContext } from '../../src/services/service.js'
import { echoService, type TestNode, testNode } from './testNode.js'

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

describe('when services act', () => {
  function bench(answering = true) {
    const clock = virtualClock()
    const done: unknown[][] = []
    let [quiet, ids, isKept]: [string | undefined, number, boolean] = [undefined, 0, true]
    const acts = (keyword: string, more: object = {}): Service => ({
      ...{ keyword, summary: 'acts', usage: keyword, answer: () => '' },
      acts: {
        ...{ everyMs: 120_000, onHeard: true, ...more },
        act: async (occasion: { kind: string; station?: { call: string } }) =>
          void done.push([keyword, clock.monotonicMs() / 1000, occasion.station?.call ?? 'time']),
      } as never,
    })
    const services: Service[] = []
    const acting = serviceActing({
      ...{ clock, services, call: 'N0DE-10', options: { answering }, nextId: () => `id${++ids}` },
      store: {
        durably(doing: string, work: () => unknown) {
          done.push([doing])
          return isKept ? { ok: true, value: work() } : { ok: false }
        },
        stations: { find: (call: string) => (call === 'Q9NEW' ? undefined : { call }) },
      } as never,
      note: (kind, text, detail) => void done.push([kind, text, detail]),
      contextFor: ((...given: unknown[]) => given) as never,
      storage: {
        begin: () => ({
          commit: (id: string) => [`message of ${id}`],
          end: () => void done.push(['end']),
        }),
      } as never,
      outbox: { add: (messages: unknown) => void done.push(['send', messages]) } as never,
      quietUntil: () => quiet,
    })
    const wait = (seconds: number) => clock.advanceToAsync(clock.monotonicMs() + seconds * 1000)
    const acted = () => done.filter(([, at]) => typeof at === 'number')
    const set = (to: { quiet?: string | undefined; isKept?: boolean }): void => {
      if ('quiet' in to) quiet = to.quiet
      if (to.isKept !== undefined) isKept = to.isKept
    }
    return { clock, done, acts, services, acting, wait, acted, set }
  }

  it('keeps what they did, sends what came of it, and lets go of it', async () => {
    const { acting, services, acts, wait, done } = bench()
    services.push(acts('net'))
    acting.start()
    await wait(119)
    expect(done).toEqual([])
    await wait(1)
    expect(done).toEqual([
      ['net', 120, 'time'],
      ['what the service net did'],
      ['send', ['message of id1']],
      ['end'],
    ])
  })

  it('sends nothing of what cannot be kept', async () => {
    const { acting, services, acts, wait, done, set } = bench()
    services.push(acts('net'))
    set({ isKept: false })
    acting.start()
    await wait(120)
    expect(done.slice(1)).toEqual([['what the service net did'], ['end']])
  })

  it('is once in their time, each by its own, until the end', async () => {
    const { acting, services, acts, wait, acted, clock } = bench()
    services.push(
      acts('net'),
      acts('log', { everyMs: 180_000 }),
      acts('ear', { everyMs: undefined }),
    )
    acting.start()
    await wait(400)
    expect(acted()).toEqual([
      ['net', 120, 'time'],
      ['log', 180, 'time'],
      ['net', 240, 'time'],
      ['net', 360, 'time'],
      ['log', 360, 'time'],
    ])
    acting.stop()
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('is at the next look where it was due in quiet hours, but for what only keeps', async () => {
    const { acting, services, acts, wait, acted, set } = bench()
    services.push(acts('net'), acts('log', { onlyKeeps: true }))
    acting.start()
    set({ quiet: '06:00' })
    await wait(270)
    expect(acted()).toEqual([
      ['log', 120, 'time'],
      ['log', 240, 'time'],
    ])
    set({ quiet: undefined })
    await wait(30)
    expect(acted().at(-1)).toEqual(['net', 300, 'time'])
  })

  it('is never where nothing is answered, but for what only keeps', async () => {
    const { acting, services, acts, wait, acted } = bench(false)
    services.push(acts('net'), acts('log', { onlyKeeps: true }))
    acting.start()
    await wait(130)
    expect(acted()).toEqual([['log', 120, 'time']])
  })

  it('is when a known station is heard, of each once in a minute', async () => {
    const { acting, services, acts, wait, acted } = bench()
    services.push(acts('ear'), acts('eye'), acts('deaf', { onHeard: false }))
    services.push({ ...echoService, keyword: 'echo' })
    acting.start()
    for (const call of ['Q1', 'Q1', 'Q2', 'Q9NEW']) acting.heard(call)
    await wait(59.999)
    acting.heard('Q1')
    await wait(0)
    const both = (at: number, call: string) => [
      ['ear', at, call],
      ['eye', at, call],
    ]
    expect(acted()).toEqual([...both(0, 'Q1'), ...both(0, 'Q2')])
    await wait(0.001)
    acting.heard('Q1')
    await wait(0)
    expect(acted().slice(4)).toEqual(both(60, 'Q1'))
  })

  it('is each minute where a station sends without pause', async () => {
    const { acting, services, acts, wait, acted } = bench()
    services.push(acts('ear', { everyMs: undefined }))
    acting.start()
    for (let count = 0; count < 7; count++) {
      acting.heard('Q1')
      await wait(25)
    }
    expect(acted()).toEqual([
      ['ear', 0, 'Q1'],
      ['ear', 75, 'Q1'],
      ['ear', 150, 'Q1'],
    ])
  })

  it('is five times at once at most, and what ends after the end is not kept', async () => {
    const { acting, services, acts, wait, done } = bench()
    const service = acts('slow')
    const ends: (() => void)[] = []
    let failing = false
    Object.assign(service.acts!, {
      act: () =>
        new Promise<void>((end, fail) =>
          ends.push(() => (failing ? fail(new Error('no meter')) : end())),
        ),
    })
    services.push(service)
    acting.start()
    for (const call of ['Q1', 'Q2', 'Q3', 'Q4', 'Q5', 'Q6']) acting.heard(call)
    expect(ends).toHaveLength(5)
    ends[0]!()
    await wait(0)
    expect(done.map(([what]) => what)).toEqual(['what the service slow did', 'send', 'end'])
    acting.heard('Q7')
    acting.heard('Q8')
    expect(ends).toHaveLength(6)
    failing = true
    ends[1]!()
    await wait(0)
    expect(done.slice(3)).toEqual([['fault', 'the service slow', { reason: 'no meter' }], ['end']])
    failing = false
    acting.stop()
    ends[2]!()
    await wait(0)
    expect(done.slice(5)).toEqual([['end']])
  })
})
