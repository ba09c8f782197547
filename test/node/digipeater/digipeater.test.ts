import { describe, expect, it } from 'vitest'
import { parseAddress } from '../../../src/ax25/address.js'
import {
  copyWindowMs,
  type DigipeaterOptions,
  digipeater,
  type MakeDigipeater,
} from '../../../src/node/digipeater/digipeater.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { type TestNode, testNode } from '../testNode.js'
import { connectionFrame } from './digipeaterBench.js'

const own = parseAddress('N0DE-10')
if (!own.ok) throw new Error(own.reason)

const make =
  (change: Partial<DigipeaterOptions> = {}): MakeDigipeater =>
  (parts) =>
    digipeater({
      ...parts,
      options: {
        ...{ own: own.value, aliases: [], kind: 'wide', widestN: 2, beyond: 'refuse' },
        ...{ outOfTurn: false, routes: [{ from: 0, to: 0 }], ignored: [], skip: [] },
        ...{ perStationPerMinute: 6, perMinute: 30, notAfterMs: 10_000, waitForOthersMs: 0 },
        othersEnough: 1,
        ...change,
      },
    })

const nodeWith = (change: Partial<DigipeaterOptions> = {}): TestNode =>
  testNode({ digipeater: make(change) })
/** What was repeated, without destination and payload; the last one with * and all before it have repeated. */
const repeated = ({ port }: TestNode): string[] =>
  port.sent
    .filter(({ request }) => request.priority === 'digipeat')
    .map(({ line }) => line.replace(/>[^,:]*,?/, ' ').replace(/:.*/, ''))
const reasons = ({ node }: TestNode): Record<string, number> =>
  Object.fromEntries(
    (node.state().digipeater?.reasons ?? []).map(({ reason, count }) => [reason, count]),
  )

describe('the digipeater of a node', () => {
  it('repeats a frame once, whatever way its copies come, and again after 30 s', async () => {
    const one = nodeWith()
    one.hear('Q7CAR-9>APZ001,WIDE1-1,WIDE2-1:>on the road')
    await one.wait(1)
    one.hear('Q7CAR-9>APZ001,Q2PEAK*,WIDE1*,WIDE2-1:>on the road')
    await one.wait(28.9)
    one.hear('Q7CAR-9>APZ001,WIDE1-1,WIDE2-1:>on the road')
    expect(repeated(one)).toEqual(['Q7CAR-9 N0DE-10,WIDE1*,WIDE2-1'])
    await one.wait(0.2)
    one.hear('Q7CAR-9>APZ001,WIDE1-1,WIDE2-1:>on the road')
    await one.wait(1)
    expect(repeated(one)).toHaveLength(2)
    expect(one.node.state().digipeater?.repeatedCount).toBe(2)
    expect(reasons(one)['a copy of one that was repeated']).toBe(2)
  })

  it('random hearings: repeated exactly when 30 s have gone by since it was taken last', async () => {
    const random = seededRandom(2305)
    const one = nodeWith({ perStationPerMinute: 60, perMinute: 200 })
    const takenMs = new Map<string, number>()
    let expected = 0
    for (let n = 0; n < 2000; n++) {
      await one.wait(random() * 8)
      const text = `text ${Math.floor(random() * 6)}`
      const path = ['WIDE1-1', 'WIDE2-2', 'Q2PEAK*,WIDE2-1'][Math.floor(random() * 3)]!
      one.hear(`Q7CAR-9>APZ001,${path}:>${text}`)
      const nowMs = one.clock.monotonicMs()
      if (nowMs - (takenMs.get(text) ?? Number.NEGATIVE_INFINITY) < copyWindowMs) continue
      takenMs.set(text, nowMs)
      expected++
    }
    await one.wait(2)
    expect(repeated(one)).toHaveLength(expected)
    expect(expected).toBeGreaterThan(500)
  })

  it('leaves out what was repaired, by one bit too; the node still reads it', async () => {
    const one = nodeWith()
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>on the road', 1)
    await one.wait(1)
    expect(repeated(one)).toEqual([])
    expect(one.store.stations.find('Q7CAR-9')).toBeDefined()
    expect(reasons(one)).toEqual({ 'it was repaired': 1 })
  })

  it('a frame of a connection is repeated by name each time it comes, and never by an alias', async () => {
    const one = nodeWith()
    for (const path of ['N0DE-10', 'N0DE-10', 'WIDE1-1']) one.port.hear(connectionFrame(path))
    await one.wait(2)
    expect(repeated(one).filter((line) => line.includes('N0DE-10*'))).toHaveLength(2)
    expect(repeated(one)).toHaveLength(2)
    expect(reasons(one)).toEqual({ 'a frame of a connection is repeated by name only': 1 })
  })

  it('limits a station and all of them, each frame over it counted', async () => {
    const one = nodeWith({ perStationPerMinute: 2, perMinute: 3 })
    for (let n = 0; n < 4; n++) one.hear(`Q7CAR-9>APZ001,WIDE1-1:>status ${n}`)
    one.hear('Q8CAR>APZ001,WIDE1-1:>one')
    one.hear('Q9CAR>APZ001,WIDE1-1:>one')
    await one.wait(3)
    expect(repeated(one).map((line) => line.split(' ')[0])).toEqual(['Q7CAR-9', 'Q7CAR-9', 'Q8CAR'])
    expect(reasons(one)).toEqual({
      'more frames a minute of one station than are repeated': 2,
      'more frames a minute than are repeated': 1,
    })
    await one.wait(60)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>later')
    await one.wait(1)
    expect(repeated(one)).toHaveLength(4)
  })

  it('filters by station, kind and distance; a station of unknown place passes', async () => {
    const one = testNode({
      options: { position: { latitudeDeg: 45, longitudeDeg: -36 } },
      digipeater: make({ ignored: ['Q6BAD'], skip: ['status'], withinM: 50_000 }),
    })
    one.hear('Q6BAD-3>APZ001,WIDE1-1:!4500.00N/03600.00W-')
    one.hear('Q1NEAR>APZ001,WIDE1-1:!4510.00N/03600.00W-')
    one.hear('Q2FAR>APZ001,WIDE1-1:!4700.00N/03600.00W-')
    one.hear('Q3STAT>APZ001,WIDE1-1:>status')
    one.ask('Q4ASKS', 'echo hello{1', ',WIDE1-1')
    await one.wait(3)
    expect(repeated(one).map((line) => line.split(' ')[0])).toEqual(['Q1NEAR', 'Q4ASKS'])
    expect(Object.keys(reasons(one)).sort()).toEqual([
      'frames of this kind are left out (status)',
      'its station is on the list of those left out',
      'its station is too far away',
    ])
  })

  it('waiting for others: what another repeated is left to it, and a hop that nobody did is done', async () => {
    const one = nodeWith({ waitForOthersMs: 2000 })
    one.hear('Q7CAR-9>APZ001,WIDE2-1:>first')
    await one.wait(1)
    one.hear('Q7CAR-9>APZ001,Q2PEAK*,WIDE2*:>first')
    one.hear('Q8CAR>APZ001,WIDE2-1:>second')
    await one.wait(5)
    expect(repeated(one)).toEqual(['Q8CAR N0DE-10,WIDE2*'])
    // another did the first hop: ours is the second
    one.hear('Q9CAR>APZ001,WIDE2-2:>third')
    await one.wait(1)
    one.hear('Q9CAR>APZ001,Q2PEAK*,WIDE2-1:>third')
    await one.wait(5)
    expect(repeated(one).at(-1)).toBe('Q9CAR Q2PEAK,N0DE-10,WIDE2*')
    // the sender again is nobody else
    one.hear('Q5CAR>APZ001,WIDE2-1:>fourth')
    await one.wait(1)
    one.hear('Q5CAR>APZ001,WIDE2-1:>fourth')
    await one.wait(5)
    expect(repeated(one).filter((line) => line.startsWith('Q5CAR'))).toHaveLength(1)
    // by name it does not wait
    one.hear('Q4CAR>APZ001,N0DE-10:>fifth')
    await one.wait(0.6)
    expect(repeated(one).at(-1)).toBe('Q4CAR N0DE-10*')
  })

  it('waiting for others: one copy by another is not enough where two are asked for', async () => {
    const one = nodeWith({ waitForOthersMs: 2000, othersEnough: 2 })
    one.hear('Q7CAR-9>APZ001,WIDE2-1:>first')
    one.hear('Q8CAR>APZ001,WIDE2-1:>second')
    await one.wait(1)
    one.hear('Q7CAR-9>APZ001,Q2PEAK*,WIDE2*:>first')
    one.hear('Q8CAR>APZ001,Q2PEAK*,WIDE2*:>second')
    one.hear('Q8CAR>APZ001,Q3PEAK*,WIDE2*:>second')
    await one.wait(5)
    expect(repeated(one)).toEqual(['Q7CAR-9 N0DE-10,WIDE2*'])
  })

  it('a radio that is held drops what is too late, and says so', async () => {
    const one = nodeWith()
    one.port.mode = 'swallow'
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>on the road')
    await one.wait(11)
    one.port.mode = 'send'
    one.hear('Q8CAR>APZ001,WIDE1-1:>later')
    await one.wait(1)
    expect(repeated(one)).toEqual(['Q8CAR N0DE-10,WIDE1*'])
  })

  it('after the stop nothing is repeated, and what waits is not', async () => {
    const one = nodeWith({ waitForOthersMs: 1000 })
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>on the road')
    one.node.stop()
    one.hear('Q8CAR>APZ001,WIDE1-1:>late')
    await one.wait(30)
    expect(repeated(one)).toEqual([])
  })

  it('without it nothing of it is there', () => {
    expect(testNode().node.state()).not.toHaveProperty('digipeater')
  })
})
