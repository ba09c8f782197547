import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll, describe, expect, it } from 'vitest'
import { clockTrust } from '../../src/runtime/clockTrust.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { backService } from '../../src/services/back.js'
import { type GivenName, tacticalNames } from '../../src/services/event/tacticalNames.js'
import { tellService } from '../../src/services/tell.js'
import { openTestStore } from '../store/openTestStore.js'
import { testNode } from './testNode.js'

const folder = mkdtempSync(join(tmpdir(), 'watching-'))
afterAll(() => rmSync(folder, { recursive: true }))

const services = [backService({ tellsOperator: true }), tellService]
const options = { operators: ['Q1OPS'] }
const minuteS = 60
const hourS = 3_600

/** Texts to a station among what was sent, each once however often it was repeated. */
const toldTo = (call: string, texts: readonly string[]): string[] => [
  ...new Set(
    texts
      .filter((text) => text.startsWith(`:${call.padEnd(9)}:`))
      .map((text) => text.slice(11).replace(/\{.*$/, '')),
  ),
]

describe('back', () => {
  const set = async (text = 'back 2h Q1ABC') => {
    const node = testNode({ services, options })
    node.ask('Q1KIT-7', text)
    await node.wait(120)
    return node
  }

  it('tells contact, operator and asker once who was not heard', async () => {
    const node = await set()
    node.sentTexts()
    await node.wait(2 * hourS + 300)
    const sent = node.sentTexts()
    const overdue = 'Q1KIT-7 is overdue: due back 02:00, last heard 2h ago.'
    expect(toldTo('Q1ABC', sent)).toEqual([overdue])
    expect(toldTo('Q1OPS', sent)).toEqual([overdue])
    expect(node.events.filter(({ kind }) => kind === 'overdue')).toMatchObject([
      { text: overdue, station: 'Q1KIT-7', reason: 'told: Q1ABC, Q1OPS' },
    ])
    // Its asker hears of it as soon as it is heard again.
    node.hear('Q1KIT-7>APZ001:>battery was empty')
    await node.wait(300)
    expect(toldTo('Q1KIT-7', node.sentTexts())).toContain(
      'You are overdue. Told: Q1ABC and the operator. All well? Say so',
    )
    await node.wait(24 * hourS)
    expect(node.events.filter(({ kind }) => kind === 'overdue')).toHaveLength(1)
  })

  it('is over when the station is heard toward the end, and not by what is heard before', async () => {
    const node = await set()
    await node.wait(30 * minuteS)
    node.hear('Q1KIT-7>APZ001:>on the way')
    await node.wait(hourS)
    node.hear('Q1KIT-7>APZ001:>down again')
    await node.wait(2 * hourS)
    expect(node.events.filter(({ kind }) => kind === 'overdue')).toEqual([])
    const early = await set()
    await early.wait(30 * minuteS)
    early.hear('Q1KIT-7>APZ001:>on the way')
    // Another SSID may stand at home.
    await early.wait(hourS)
    early.hear('Q1KIT-1>APZ001:>at home')
    await early.wait(2 * hourS)
    expect(early.events.filter(({ kind }) => kind === 'overdue')).toHaveLength(1)
  })

  it('is withdrawn', async () => {
    const node = await set()
    node.ask('Q1KIT-7', 'back off')
    await node.wait(5 * hourS)
    expect(node.events.filter(({ kind }) => kind === 'overdue')).toEqual([])
  })
})

describe('tell', () => {
  it('tells the asker once when the station is heard, whatever its SSID', async () => {
    const node = testNode({ services, options })
    node.ask('Q1KIT-7', 'tell Q2DEF')
    await node.wait(120)
    node.sentTexts()
    node.hear('Q2DEF-9>APZ001:>here')
    await node.wait(120)
    node.hear('Q2DEF-9>APZ001:>here again')
    await node.wait(120)
    expect(toldTo('Q1KIT-7', node.sentTexts())).toEqual(['Q2DEF-9 is heard now.'])
  })
  it('ends after a week, and says so', async () => {
    const node = testNode({ services, options })
    node.ask('Q1KIT-7', 'tell Q2DEF')
    await node.wait(120)
    node.sentTexts()
    await node.wait(7 * 24 * hourS)
    expect(toldTo('Q1KIT-7', node.sentTexts())).toEqual([
      'Q2DEF was not heard in 7 days. To go on: tell Q2DEF',
    ])
  })
})

describe('a tactical name in a watch', () => {
  /** CHECK1 is Q1ABC until the operator says otherwise. */
  const eventNode = () => {
    const given = new Map<string, GivenName>()
    const now = { isOn: true }
    const names = tacticalNames({
      entries: () => [
        { name: 'CHECK1', call: 'Q1ABC', lists: [] },
        { name: 'CHECK2', call: undefined, lists: [] },
      ],
      keeping: {
        all: () => given,
        set: (name, one) => given.set(name, one!).size > 0,
      },
      ...{ isOn: () => now.isOn, isExercise: false, wallMs: () => 0, onChange: () => {} },
    })
    const event = { names, status: () => undefined, announcements: () => [] }
    return { ...testNode({ services, options, event }), names, now }
  }

  it('is whoever holds it when somebody is overdue, or, after the event, held it last', async () => {
    const node = eventNode()
    node.ask('Q1KIT-7', 'back 2h check1')
    await node.wait(60)
    expect(toldTo('Q1KIT-7', node.sentTexts()).join(' ')).toContain('CHECK1 and the operator')
    node.names.give('CHECK1', 'Q2NEW-7', 'a test')
    node.now.isOn = false
    await node.wait(2 * hourS + 300)
    const sent = node.sentTexts()
    expect(toldTo('Q2NEW-7', sent)).toEqual([expect.stringContaining('Q1KIT-7 is overdue')])
    expect(toldTo('Q1ABC', sent)).toEqual([])
  })

  it('that nobody holds any more is who held it when the watch was set', async () => {
    const node = eventNode()
    node.ask('Q1KIT-7', 'back 2h CHECK1')
    await node.wait(60)
    node.names.give('CHECK1', '-', 'a test')
    await node.wait(2 * hourS + 300)
    expect(toldTo('Q1ABC', node.sentTexts())).toHaveLength(1)
    node.ask('Q1KIT-7', 'back 2h CHECK2')
    await node.wait(30)
    expect(toldTo('Q1KIT-7', node.sentTexts()).at(-1)).toBe('Nobody holds CHECK2 now.')
  })

  it('is whoever holds it when it is heard, and not who held it before', async () => {
    const node = eventNode()
    node.ask('Q1KIT-7', 'tell CHECK1')
    await node.wait(60)
    expect(toldTo('Q1KIT-7', node.sentTexts()).at(-1)).toMatch(/once when CHECK1 is heard/)
    node.names.give('CHECK1', 'Q2NEW-7', 'a test')
    node.hear('Q1ABC>APZ001:>here')
    await node.wait(60)
    expect(toldTo('Q1KIT-7', node.sentTexts())).toEqual([])
    node.hear('Q2NEW-7>APZ001:>here')
    await node.wait(60)
    expect(toldTo('Q1KIT-7', node.sentTexts())).toEqual(['CHECK1 is heard now.'])
  })
})

/** A wall clock that can be set, over a virtual one. */
function settableClock(base: VirtualClock, aheadMs: () => number): VirtualClock {
  return {
    ...base,
    monotonicMs: base.monotonicMs,
    wallMs: () => base.wallMs() + aheadMs(),
  }
}

type Step =
  | { readonly kind: 'pass'; readonly minutes: number }
  /** the clock is set by so many minutes by somebody, or by the network, which makes it right */
  | { readonly kind: 'set'; readonly minutes: number }
  | { readonly kind: 'network' }
  /** the process ends, and another begins after so many minutes; with the machine, which counts from 0, or alone */
  | { readonly kind: 'restart'; readonly awayMinutes: number; readonly boots: boolean }
  | { readonly kind: 'heard' }

const step: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant('pass' as const),
      minutes: fc.integer({ min: 1, max: 90 }),
    }),
  },
  fc.record({ kind: fc.constant('set' as const), minutes: fc.integer({ min: -3000, max: 3000 }) }),
  fc.record({ kind: fc.constant('network' as const) }),
  fc.record({
    kind: fc.constant('restart' as const),
    awayMinutes: fc.integer({ min: 0, max: 120 }),
    boots: fc.boolean(),
  }),
  fc.record({ kind: fc.constant('heard' as const) }),
)

const lives = Number(process.env.LIVES ?? 30)
const timeout = 120_000 + lives * 4_000

/*
 * True time is the virtual clock's. The watch is of 4 hours; being heard counts from 3 hours on. The node may be away, and its wall clock
 * may be set by anybody; only what network time has set is trusted at once, and it is right.
 */
it('clock jumps and restarts raise no false alarm and swallow none (fast-check)', {
  timeout,
}, async () => {
  let run = 0
  await fc.assert(
    fc.asyncProperty(
      fc.array(step, { maxLength: 14 }),
      fc.boolean(),
      async (steps, startsTrusted) => {
        const base = virtualClock(Date.UTC(2026, 5, 21, 12))
        const file = join(folder, `${run++}.sqlite`)
        let aheadMs = 0
        let boot = 0
        let mark = startsTrusted ? base.wallMs() : undefined
        const clock = settableClock(base, () => aheadMs)
        const begin = (seed: number) => {
          const opened = openTestStore(file, clock)
          const trust = clockTrust(clock, { networkTimeMark: () => mark })
          const node = testNode({
            services,
            options,
            clock,
            store: opened.store,
            clockTrust: trust,
            bootId: `boot ${boot}`,
            seed,
          })
          const close = (): void => {
            node.node.stop()
            opened.store.close()
          }
          return { ...node, close }
        }
        let node = begin(1)
        const alarms: number[] = []
        const take = (): void => {
          for (const event of node.events.splice(0))
            if (event.kind === 'overdue') alarms.push(base.monotonicMs() / 60_000)
        }
        const pass = async (minutes: number, isUp = true): Promise<void> => {
          for (let left = minutes; left > 0; left -= 15) {
            await base.advanceToAsync(base.monotonicMs() + Math.min(left, 15) * 60_000)
            if (isUp) take()
          }
        }
        node.ask('Q1KIT-7', 'back 4h Q1ABC')
        await pass(2)
        const dueMinutes = 240
        const heards: number[] = []
        // A machine that starts without a source of time makes it later, and so, too, when being heard counts.
        let isSure = true
        for (const one of steps) {
          if (one.kind === 'pass') await pass(one.minutes)
          else if (one.kind === 'set') {
            aheadMs += one.minutes * 60_000
          } else if (one.kind === 'network') {
            aheadMs = 0
            mark = base.wallMs()
          } else if (one.kind === 'heard') {
            node.hear('Q1KIT-7>APZ001:>hi')
            heards.push(base.monotonicMs() / 60_000)
            await pass(1)
          } else {
            node.close()
            if (one.boots) boot++
            // A clock that is wrong has not been set by the network since the machine started.
            if (one.boots && aheadMs !== 0) mark = undefined
            await pass(one.awayMinutes, false)
            if (one.boots && mark === undefined) isSure = false
            node = begin(run * 100 + alarms.length + heards.length + 2)
            await pass(1)
          }
        }
        aheadMs = 0
        mark = base.wallMs()
        await pass(600)
        node.close()
        const isHeard = heards.some((at) => at >= 180 && at <= dueMinutes)
        const mayBeHeard = heards.some((at) => at >= 178)
        if (alarms.length > 1) throw new Error(`told ${alarms.length} times`)
        // Never before its time, and never for who was heard in the last hour before it.
        expect(alarms.every((at) => at >= dueMinutes)).toBe(true)
        const isAwayThen = steps.some(({ kind }) => kind === 'restart')
        if (isHeard && (isSure || !isAwayThen)) expect(alarms).toEqual([])
        // Never swallowed: who was not heard from then on is told of.
        if (!mayBeHeard) expect(alarms).toHaveLength(1)
      },
    ),
    { seed: Number(process.env.SEED ?? 7), numRuns: lives },
  )
})
