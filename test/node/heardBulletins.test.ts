import { afterEach, describe, expect, it } from 'vitest'
import { heardBulletins } from '../../src/node/heardBulletins.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { bulletinRecords, bulletinsService, objectRecords } from '../../src/services/bulletins.js'
import type { Service } from '../../src/services/service.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore } from '../store/openTestStore.js'
import { type TestNode, testNode } from './testNode.js'

let node: TestNode | undefined
afterEach(() => {
  node?.node.stop()
  node?.store.close()
})
const service = bulletinsService({ positionAgeMaxMs: 3_600_000 })

function start(more: Parameters<typeof testNode>[0] = {}) {
  node = testNode({
    services: [service],
    options: { groups: ['RESCUE'], position: { latitudeDeg: 49, longitudeDeg: -72 } },
    ...more,
  })
  return node
}
async function told(question: string): Promise<string[]> {
  node!.sentTexts()
  node!.hear(`N0CALL-7>APZRPP::N0DE-10  :${question}`)
  await node!.wait(20)
  return node!.sentTexts().map((text) => text.replace(/^:.{9}:/, ''))
}

describe('bulletins', () => {
  // The payloads are those of the reference's chapters 11 and 14.
  it('are kept as they are heard, newest first, each once, and offered', async () => {
    const { hear, wait } = start()
    hear('Q1ABC>APZRPP::BLN3     :Snow expected in Tampa RSN')
    await wait(120)
    hear('Q1ABC>APZRPP::BLNQ     :Mt St Helen digi will be QRT this weekend')
    hear('Q1ABC>APZRPP::BLN3     :Snow expected in Tampa RSN')
    hear('Q1ABC>APZRPP::BLN4WX   :Stand by your snowplows')
    expect(await told('bulletins')).toEqual([
      'Q1ABC now: Mt St Helen digi will be QRT this weekend',
      'Q1ABC to WX now: Stand by your snowplows',
      'Q1ABC 2min: Snow expected in Tampa RSN',
    ])
    expect(await told('bulletins wx')).toEqual(['Q1ABC now: Stand by your snowplows'])
    expect(await told('bulletins 1')).toHaveLength(1)
  })

  it('of groups that are configured are kept, of others not', async () => {
    const { hear } = start()
    hear('Q1ABC>APZRPP::RESCUE   :Team 2 to the hut')
    hear('Q1ABC>APZRPP::OTHERS   :not for us')
    hear('Q1ABC>APZRPP::ALL      :hello all')
    expect(await told('bulletins')).toEqual(['Q1ABC to RESCUE now: Team 2 to the hut'])
  })

  it('are told after a restart, and forgotten after a day', async () => {
    const { hear, store, clock } = start()
    hear('Q1ABC>APZRPP::BLN1     :Net tonight')
    node!.node.stop()
    node = testNode({ services: [service], store, clock })
    expect(await told('bulletins')).toEqual(['Q1ABC now: Net tonight'])
    clock.advanceBy(24 * 3_600_000)
    expect((await told('bulletins'))[0]).toMatch(/^No bulletins were heard/)
  })

  it('that were kept while the clock was years ahead are not told, and make room first', async () => {
    const { hear, store } = start()
    const ahead = JSON.stringify({ from: 'Q9OLD', atWallMs: 4_000_000_000_000, text: 'from 2096' })
    for (let at = 0; at < 60; at++) store.serviceData.set(bulletinRecords, `Q9OLD  ${at}`, ahead)
    hear('Q1ABC>APZRPP::BLN1     :Net tonight')
    await node!.wait(1)
    hear('Q1ABC>APZRPP::BLN2     :on the hill')
    expect(store.serviceData.all(bulletinRecords).size).toBe(60)
    expect(await told('bulletins')).toEqual(['Q1ABC now: on the hill / Q1ABC now: Net tonight'])
  })

  it('that are repeated cost no write, and a flood of them is bounded', async () => {
    const { hear, store } = start()
    hear('Q1ABC>APZRPP::BLN1     :Net tonight')
    const before = store.serviceData.all(bulletinRecords)
    for (let at = 0; at < 5; at++) {
      await node!.wait(60)
      hear('Q1ABC>APZRPP::BLN1     :Net tonight')
    }
    expect(store.serviceData.all(bulletinRecords)).toEqual(before)
    for (let at = 0; at < 300; at++) {
      hear(`Q${at}X>APZRPP::BLN1     :flood ${at}`)
      await node!.wait(1)
    }
    expect(store.serviceData.all(bulletinRecords).size).toBe(60)
    expect(store.serviceData.all(bulletinRecords).has('Q119X  1')).toBe(false)
    expect(store.serviceData.all(bulletinRecords).has('Q118X  1')).toBe(true)
  })
})

describe('a service that has nothing', () => {
  const empty: Service = {
    ...{ keyword: 'repeaters', summary: 'none', usage: 'repeaters' },
    ready: () => ({ state: 'empty', reason: 'no list is loaded' }),
    answer: () => 'No repeater directory is loaded here.',
  }

  it('names a node that was heard lately and has announced it', async () => {
    const { hear, wait } = start({ services: [service, empty] })
    expect(await told('repeaters')).toEqual(['No repeater directory is loaded here.'])
    hear('Q1XYZ-10>APZRPT::BLN0     :Message Q1XYZ-10 with: help [KEYWORD], repeaters N')
    hear('Q1ABC>APZRPP::BLN1     :repeaters are fun')
    await wait(180)
    expect(await told('repeaters')).toEqual([
      'No repeater directory is loaded here. Ask Q1XYZ-10, heard 3min ago.',
    ])
    expect((await told('wetter'))[0]).toMatch(/^conditions gibt es hier nicht/)
    await wait(4 * 3_600)
    expect(await told('repeaters')).toEqual(['No repeater directory is loaded here.'])
  })
})

describe('objects', () => {
  it('are told with where they are, until their sender says that they are gone', async () => {
    const { hear, store } = start()
    hear('Q1ABC>APZRPP:;LEADER   *092345z4903.50N/07201.75W>088/036hut')
    hear('Q1ABC>APZRPP:)AIDV#2!4903.50N/07201.75WA')
    expect(await told('bulletins objects')).toEqual([
      'AIDV#2 6.8km NNW of node, now / LEADER 6.8km NNW of node, now: hut',
    ])
    hear('Q2XYZ>APZRPP:;LEADER   _092345z4903.50N/07201.75W>')
    expect(store.serviceData.all(objectRecords).size).toBe(2)
    hear('Q1ABC>APZRPP:;LEADER   _092345z4903.50N/07201.75W>')
    hear('Q1ABC>APZRPP:)AIDV#2_4903.50N/07201.75WA')
    // asked again within 28 s it is a copy
    await node!.wait(30)
    expect(await told('bulletins objects')).toEqual(['No objects were heard in the last 24h.'])
  })
})

describe('what is kept of what everybody is told', () => {
  const wallMs = Date.UTC(2026, 0, 1)
  const minuteMs = 60_000

  function bench() {
    const steady = virtualClock(wallMs)
    let aheadMs = 0
    const clock = { ...steady, wallMs: () => steady.wallMs() + aheadMs }
    const { store } = openTestStore(':memory:', steady)
    const writes: string[] = []
    const durably: Store['durably'] = (doing, work) => {
      writes.push(doing)
      return store.durably(doing, work)
    }
    const made = heardBulletins({
      ...{ clock, store: { ...store, durably } },
      options: { groups: ['RESCUE'] },
    })
    const bulletin = (text: string, id = '1', group?: string, from = 'Q1ABC'): void =>
      made.take({ from, payload: { kind: 'bulletin', id, group, text } as never })
    const object = (more: object = {}, kind = 'object', from = 'Q1ABC'): void =>
      made.take({
        ...{ from },
        payload: {
          ...{ kind, name: 'HUT  ', live: true, comment: 'open' },
          position: { latitudeDeg: 45.12345, longitudeDeg: -36.98765 },
          ...more,
        } as never,
      })
    const kept = (name: string) =>
      [...store.serviceData.all(name)].map(([key, json]) => [
        key,
        JSON.parse(json) as Record<string, unknown>,
      ])
    const setClock = (byMs: number): void => {
      aheadMs += byMs
    }
    return { made, bulletin, object, kept, writes, clock: steady, setClock }
  }

  it('is a bulletin of each sender, group and line', () => {
    const { bulletin, kept, writes, made } = bench()
    bulletin('one')
    bulletin('two', '2')
    bulletin('three', '1', 'WX')
    bulletin('four', '1', undefined, 'Q2ABC')
    bulletin('new', '2')
    const said = { from: 'Q1ABC', atWallMs: wallMs }
    expect(kept(bulletinRecords)).toEqual([
      ['Q1ABC  1', { ...said, text: 'one' }],
      ['Q1ABC  2', { ...said, text: 'new' }],
      ['Q1ABC WX 1', { ...said, text: 'three', group: 'WX' }],
      ['Q2ABC  1', { ...said, from: 'Q2ABC', text: 'four' }],
    ])
    expect(writes).toEqual(Array(5).fill('a bulletin that was heard'))
    made.take({ from: 'Q1ABC', payload: { kind: 'status', text: 'x' } as never })
    expect(writes).toHaveLength(5)
  })

  it('is a message to a group of ours, one of each sender', () => {
    const { made, kept } = bench()
    const send = (addressee: string, text: string) =>
      made.take({ from: 'Q1ABC', payload: { kind: 'message', addressee, text } as never })
    send(' rescue ', 'one')
    send('RESCUE', 'two')
    send('OTHERS', 'three')
    const said = { from: 'Q1ABC', atWallMs: wallMs }
    expect(kept(bulletinRecords)).toEqual([
      ['Q1ABC RESCUE ', { ...said, text: 'two', group: 'RESCUE' }],
      ['Q1ABC rescue ', { ...said, text: 'one', group: 'rescue' }],
    ])
  })

  it('is an object or item, at its place to a hundred metres, until its sender says that it is gone', () => {
    const { object, kept, writes } = bench()
    object()
    object({ name: 'TENT' }, 'item')
    const place = { latitudeDeg: 45.123, longitudeDeg: -36.988 }
    const said = { from: 'Q1ABC', atWallMs: wallMs, text: 'open', ...place }
    expect(kept(objectRecords)).toEqual([
      ['HUT', said],
      ['TENT', said],
    ])
    object({ live: false }, 'object', 'Q2ABC')
    object({ live: false, name: 'NONE' })
    expect([kept(objectRecords).length, writes.length]).toEqual([2, 2])
    object({ live: false })
    expect(kept(objectRecords)).toEqual([['TENT', said]])
    expect(writes.at(-1)).toBe('an object that is gone')
  })

  it('is written anew where it is another, or after half an hour, by whatever way the clock was set', () => {
    const { object, writes, clock, setClock } = bench()
    object()
    // it drifts within its error
    object({ position: { latitudeDeg: 45.12349, longitudeDeg: -36.98765 } })
    clock.advanceTo(30 * minuteMs - 1)
    object()
    expect(writes).toHaveLength(1)
    clock.advanceTo(30 * minuteMs)
    object()
    expect(writes).toHaveLength(2)
    object({ comment: 'shut' })
    expect(writes).toHaveLength(3)
    setClock(-30 * minuteMs + 1)
    object({ comment: 'shut' })
    expect(writes).toHaveLength(3)
    setClock(-1)
    object({ comment: 'shut' })
    expect(writes).toHaveLength(4)
  })

  it('is sixty of each kind: what was stamped farthest from now makes room', () => {
    const { bulletin, object, kept, clock } = bench()
    for (let at = 0; at < 60; at++) {
      clock.advanceBy(1_000)
      bulletin('text', `${(at + 7) % 60}`)
    }
    object()
    clock.advanceBy(1_000)
    bulletin('other', '8')
    expect([kept(bulletinRecords).length, kept(objectRecords).length]).toEqual([60, 1])
    bulletin('text', 'new')
    const keys = kept(bulletinRecords).map(([key]) => key)
    expect([keys.length, keys.includes('Q1ABC  7'), keys.includes('Q1ABC  new')]).toEqual([
      ...[60, false, true],
    ])
  })

  it('is written 120 times an hour, and in the next hour again, though there is no end of it', () => {
    const { bulletin, writes, clock } = bench()
    const inHour: number[] = []
    for (let second = 0; second < 3 * 3_600; second += 20) {
      clock.advanceTo(second * 1000)
      bulletin(`text ${second}`)
      if (second % 3_600 === 3_580) inHour.push(writes.length)
    }
    expect(inHour).toEqual([120, 240, 360])
  })
})
