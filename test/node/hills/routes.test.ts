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

  it('are not counted on after 48 hours', () => {
    const ways = routes('Q1OWN')
    ways.learn(['Q1FAR'], 0)
    expect(ways.next('Q1FAR', [], 48 * hourMs)).toBeDefined()
    expect(ways.next('Q1FAR', [], 48 * hourMs + 1)).toBeUndefined()
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
  it('knows who was heard, when and how often, the newest fifty', () => {
    const known = neighbours()
    for (let at = 0; at < 60; at++)
      known.heard({ call: `Q${at}AB`, kinds: [], waitingCount: 0 }, 0, at)
    expect(known.all).toHaveLength(50)
    expect(known.find('Q9AB')).toBeUndefined()
    known.heard({ call: 'Q59AB', kinds: ['message'], waitingCount: 2 }, 1, 100)
    known.met('Q59AB', 120)
    known.heard({ call: 'Q59AB', kinds: ['message'], waitingCount: 0 }, 1, 130)
    const expected = { heardCount: 3, heardAtMs: 130, metAtMs: 120, radio: 1, waitingCount: 0 }
    expect(known.find('Q59AB')).toMatchObject(expected)
  })
})
