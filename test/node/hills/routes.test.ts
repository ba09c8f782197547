import { describe, expect, it } from 'vitest'
import { neighbours } from '../../../src/node/hills/neighbours.js'
import { hopsMax, routes } from '../../../src/node/hills/routes.js'
import { seededRandom } from '../../../src/runtime/random.js'

const hourMs = 3_600_000

describe('routes', () => {
  it('are what came, turned round', () => {
    const ways = routes('Q1OWN')
    ways.learn(['Q1FAR', 'Q1MID'], 0)
    expect(ways.next('Q1FAR', [], 0)).toMatchObject({ next: 'Q1MID', hops: 2 })
    expect(ways.next('Q1MID', [], 0)).toMatchObject({ next: 'Q1MID', hops: 1 })
    expect(ways.next('Q1NIL', [], 0)).toBeUndefined()
  })

  it('prefer fewer hand-overs, then the newer one, and avoid who had it', () => {
    const ways = routes('Q1OWN')
    ways.learn(['Q1FAR', 'Q1XXA', 'Q1AAA'], 0)
    ways.learn(['Q1FAR', 'Q1BBB'], 1)
    ways.learn(['Q1FAR', 'Q1CCC'], 2)
    expect(ways.next('Q1FAR', [], 3)?.next).toBe('Q1CCC')
    expect(ways.next('Q1FAR', ['Q1CCC'], 3)?.next).toBe('Q1BBB')
    expect(ways.next('Q1FAR', ['Q1CCC', 'Q1BBB'], 3)?.next).toBe('Q1AAA')
    expect(ways.next('Q1FAR', ['Q1CCC', 'Q1BBB', 'Q1AAA'], 3)).toBeUndefined()
  })

  it('take three hand-overs and no fourth, no loop, and nothing that went by here', () => {
    const ways = routes('Q1OWN')
    ways.learn(['Q1AAA', 'Q1BBB', 'Q1CCC', 'Q1DDD'], 0)
    ways.learn(['Q1AAA', 'Q1BBB', 'Q1AAA'], 0)
    ways.learn(['Q1AAA', 'Q1OWN', 'Q1BBB'], 0)
    ways.learn([], 0)
    expect(ways.all(0)).toEqual([])
    ways.learn(['Q1AAA', 'Q1BBB', 'Q1CCC'], 0)
    expect(ways.next('Q1AAA', [], 0)?.hops).toBe(hopsMax)
  })

  it('are not counted on 48 hours after they were learnt', () => {
    const ways = routes('Q1OWN')
    ways.learn(['Q1FAR'], hourMs)
    expect(ways.next('Q1FAR', [], 49 * hourMs)).toBeDefined()
    expect(ways.next('Q1FAR', [], 49 * hourMs + 1)).toBeUndefined()
    expect(ways.all(49 * hourMs + 1)).toEqual([])
  })

  it('are not made longer by a detour of the same news, but by one that goes on for 12 hours', () => {
    const ways = routes('Q1OWN')
    const short = { node: 'Q1FAR', next: 'Q1NXT', hops: 2, learntAtMs: hourMs }
    ways.learn(['Q1FAR', 'Q1NXT'], hourMs)
    ways.learn(['Q1FAR', 'Q1MID', 'Q1NXT'], hourMs)
    ways.learn(['Q1FAR', 'Q1MID', 'Q1NXT'], 13 * hourMs - 1)
    expect(ways.next('Q1FAR', [], 13 * hourMs)).toEqual(short)
    ways.learn(['Q1FAR', 'Q1NXT'], 2 * hourMs)
    ways.learn(['Q1FAR', 'Q1MID', 'Q1NXT'], 14 * hourMs - 1)
    expect(ways.next('Q1FAR', [], 14 * hourMs)).toEqual({ ...short, learntAtMs: 2 * hourMs })
    ways.learn(['Q1FAR', 'Q1MID', 'Q1NXT'], 14 * hourMs)
    const long = { ...short, hops: 3, learntAtMs: 14 * hourMs }
    expect(ways.next('Q1FAR', [], 14 * hourMs)).toEqual(long)
    ways.learn(['Q1FAR', 'Q1NXT'], 15 * hourMs)
    expect(ways.next('Q1FAR', [], 15 * hourMs)).toEqual({ ...short, learntAtMs: 15 * hourMs })
  })

  it('are four to each node, one for each neighbour, and the best is told', () => {
    const ways = routes('Q1OWN')
    ways.learn(['Q1FAR', 'Q1AAA'], 0)
    for (let at = 1; at < 9; at++) ways.learn(['Q1FAR', 'Q1BBB'], at)
    expect(ways.next('Q1FAR', ['Q1BBB'], 9)?.next).toBe('Q1AAA')
    for (const next of ['Q1CCC', 'Q1DDD', 'Q1EEE']) ways.learn(['Q1FAR', next], 10)
    const four = ['Q1BBB', 'Q1CCC', 'Q1DDD', 'Q1EEE']
    for (const next of four)
      expect(
        ways.next(
          'Q1FAR',
          four.filter((one) => one !== next),
          10,
        )?.next,
      ).toBe(next)
    expect(ways.next('Q1FAR', four, 10)).toBeUndefined()
    ways.learn(['Q1FAR'], 11)
    const told = ways.all(11).map(({ node, next, hops }) => `${node} by ${next}: ${hops}`)
    expect(told).toEqual([
      ...['Q1AAA by Q1AAA: 1', 'Q1BBB by Q1BBB: 1', 'Q1CCC by Q1CCC: 1', 'Q1DDD by Q1DDD: 1'],
      ...['Q1EEE by Q1EEE: 1', 'Q1FAR by Q1FAR: 1'],
    ])
  })

  it('stay bounded, and no chain of them goes in a circle: random nets, each handing on by its own table', () => {
    const random = seededRandom(23)
    const names = Array.from({ length: 8 }, (_, index) => `Q1N${'ABCDEFGH'[index]}`)
    for (let round = 0; round < 200; round++) {
      const hears = (a: string, b: string): boolean => links.has([a, b].sort().join())
      const links = new Set<string>()
      for (const a of names)
        for (const b of names) if (a < b && random() < 0.3) links.add(`${a},${b}`)
      const tables = new Map(names.map((name) => [name, routes(name)]))
      // News of each node goes from hand to hand, as entries do.
      let going: string[][] = names.map((name) => [name])
      for (let hop = 0; hop < hopsMax; hop++) {
        const next: string[][] = []
        for (const trace of going)
          for (const name of names) {
            if (!hears(trace.at(-1)!, name) || trace.includes(name)) continue
            tables.get(name)!.learn(trace, hop)
            next.push([...trace, name])
          }
        going = next
      }
      for (const from of names)
        for (const to of names) {
          const had = [from]
          while (had.at(-1) !== to) {
            const way = tables.get(had.at(-1)!)!.next(to, had, hopsMax)
            if (way === undefined || had.length > hopsMax) break
            expect(had).not.toContain(way.next)
            expect(hears(had.at(-1)!, way.next)).toBe(true)
            had.push(way.next)
          }
          if (tables.get(from)!.next(to, [], 3)) expect(had.at(-1)).toBe(to)
        }
    }
    const many = routes('Q1OWN')
    for (let at = 0; at < 1000; at++) many.learn([`Q${at}AB`], at)
    expect(many.all(1000)).toHaveLength(200)
  })
})

describe('neighbours', () => {
  const announced = { call: 'Q59AB', kinds: ['message'], waitingCount: 2 } as const

  it('knows who was heard, when and how often, and when a session was whole', () => {
    const known = neighbours()
    known.met('Q59AB', 5)
    expect(known.all).toEqual([])
    known.heard(announced, 0, 100)
    const once = { ...announced, radio: 0, heardAtMs: 100, heardCount: 1, metAtMs: undefined }
    expect(known.find('Q59AB')).toEqual(once)
    known.met('Q59AB', 120)
    known.heard({ ...announced, waitingCount: 0 }, 1, 130)
    const twice = { ...once, radio: 1, heardAtMs: 130, heardCount: 2, metAtMs: 120 }
    expect(known.all).toEqual([{ ...twice, waitingCount: 0 }])
    expect(known.find('Q58AB')).toBeUndefined()
  })

  it('forgets who was not heard for longest beyond fifty', () => {
    const known = neighbours()
    for (let at = 0; at < 50; at++) known.heard({ ...announced, call: `Q${at}AB` }, 0, at)
    known.heard({ ...announced, call: 'Q0AB' }, 0, 60)
    expect(known.all).toHaveLength(50)
    known.heard({ ...announced, call: 'Q50AB' }, 0, 61)
    expect(known.all).toHaveLength(50)
    expect(known.find('Q1AB')).toBeUndefined()
    expect(known.find('Q0AB')?.heardCount).toBe(2)
  })
})
