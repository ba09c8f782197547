import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { BrokerHill, minutes } from './brokerHill.js'
import { cutKinds, SimBroker } from './simBroker.js'

function pair() {
  const clock = virtualClock()
  const broker = new SimBroker(clock)
  const giver = new BrokerHill(clock, broker, 'Q1AAA', ['Q2BBB'])
  const taker = new BrokerHill(clock, broker, 'Q2BBB', ['Q1AAA'])
  const hear = (): void => {
    giver.hill.hear('Q3SND')
    taker.hill.hear('Q4RCV')
  }
  hear()
  minutes(clock, [giver, taker], 5)
  return { clock, broker, giver, taker, hear }
}

/** Each step of the hand-over, and what breaks there; CUTS=all for all of them. */
const everyStep = process.env.CUTS === 'all' ? 1 : 4

describe('a message over a broker', () => {
  it('goes to where its receiver is heard, and its sender is told', () => {
    const { clock, giver, taker } = pair()
    giver.hill.leave('q1', 'Q3SND', 'Q4RCV', 'see you at the hut')
    minutes(clock, [giver, taker], 4)
    expect(taker.collect('Q4RCV')).toEqual(['see you at the hut'])
    minutes(clock, [giver, taker], 4)
    expect(giver.reports).toEqual([
      'Q3SND: Your message to Q4RCV was delivered: see you at the hut',
    ])
    // Both may call in the same moment: then one of the two calls is given up for the other.
    const ends = [...giver.ends, ...taker.ends]
    expect(ends.filter((end) => end !== 'complete').length).toBeLessThan(3)
    expect(ends.filter((end) => end === 'complete').length).toBeGreaterThan(3)
  })

  it.each(cutKinds)('comes once, and its sender is told, wherever the link breaks: %s', (kind) => {
    const { clock, broker, giver, taker, hear } = pair()
    let after = 0
    let isCut = true
    for (; isCut && after < 400; after += everyStep) {
      const text = `letter ${after}`
      hear()
      giver.hill.leave(`q${after}`, 'Q3SND', 'Q4RCV', text)
      broker.cut = { after, kind }
      const got: string[] = []
      for (let round = 0; round < 6; round++) {
        minutes(clock, [giver, taker], 3)
        got.push(...taker.collect('Q4RCV'))
      }
      isCut = broker.cut === undefined
      broker.cut = undefined
      expect(got, `cut at step ${after}`).toEqual([text])
    }
    minutes(clock, [giver, taker], 10)
    expect(after).toBeGreaterThan(30)
    expect(after).toBeLessThan(400)
    const told = giver.reports.map((text) => text.split(': ').at(-1))
    const left = Array.from({ length: told.length }, (_, at) => `letter ${at * everyStep}`)
    expect(told.length).toBe(Math.ceil(after / everyStep))
    expect(new Set(told)).toEqual(new Set(left))
  })

  it('comes once, and its sender is told, wherever the power of either fails', () => {
    for (const which of ['giver', 'taker'] as const)
      for (const committed of [false, true]) {
        const all = pair()
        const { clock, giver, taker, hear } = all
        for (let after = 0; after < 12; after++) {
          const text = `letter ${after}`
          hear()
          giver.hill.leave(`q${after}`, 'Q3SND', 'Q4RCV', text)
          all[which].hill.cut = { after, committed }
          const got: string[] = []
          for (let round = 0; round < 5; round++) {
            minutes(clock, [giver, taker], 3)
            got.push(...taker.collect('Q4RCV'))
          }
          all[which].hill.cut = undefined
          expect(got, `${which} ${after} ${committed}`).toEqual([text])
        }
        minutes(clock, [giver, taker], 10)
        expect(new Set(giver.reports).size).toBe(12)
        giver.hill.close()
        taker.hill.close()
      }
  })

  it('waits for days where it was left while the other is away', () => {
    const { clock, broker, giver, taker } = pair()
    broker.lose('Q2BBB')
    for (let at = 0; at < 20; at++) giver.hill.leave(`q${at}`, 'Q3SND', 'Q4RCV', `letter ${at}`)
    minutes(clock, [giver], 2 * 24 * 60)
    expect(giver.carrier.openCount).toBe(0)
    taker.begin()
    taker.hill.hear('Q4RCV')
    minutes(clock, [giver, taker], 6)
    expect(taker.collect('Q4RCV')).toHaveLength(20)
  })
})

describe('whoever may write to the broker', () => {
  const to = 'ridgepost/Q1AAA/to/Q2BBB'

  it('ends nothing, and is not listened to without the seal', () => {
    const { clock, broker, giver, taker } = pair()
    const session = 'a'.repeat(16)
    const forged = [
      ...['', 'link', 'link 1', '{}', '\u0000'.repeat(300), 'x'.repeat(100_000)],
      `link 1 ${session} 0 call\nhill 1 Q1AAA abcdefgh 5 5 abcdefghabcdefgh\r`,
      `link 1 ${session} 1 more\nsession 6\r`,
      `link 1 ${'b'.repeat(16)} 999999999 more\n`,
      `link 1 ${'c'.repeat(16)} 0 call\n${'\r'.repeat(16_000)}`,
      `link 1 ${'d'.repeat(16)} 0 call\n${'y'.repeat(16_000)}`,
      `link 1 ${'e'.repeat(16)} 0 gone\n`,
      `link 2 ${'f'.repeat(16)} 0 call\n`,
    ]
    for (const payload of forged) {
      for (const topic of [to, 'ridgepost/Q1AAA/online', 'ridgepost/Q9BAD/to/Q2BBB', 'else'])
        broker.forge(topic, payload)
      clock.advanceTo(clock.monotonicMs() + 10_000)
    }
    const before = taker.hill.store.hills.recent(99).length
    minutes(clock, [taker], 3)
    expect(taker.hill.store.hills.recent(99).length).toBe(before)
    expect(taker.carrier.openCount).toBe(0)
    // It goes on as before: only what was forged of being online has to be said anew.
    broker.forge('ridgepost/Q1AAA/online', '{"form":1,"call":"Q1AAA","online":true}')
    giver.hill.leave('q1', 'Q3SND', 'Q4RCV', 'after all')
    minutes(clock, [giver, taker], 5)
    expect(taker.collect('Q4RCV')).toEqual(['after all'])
  })

  it('cannot say again what a node said', () => {
    const { clock, broker, giver, taker } = pair()
    const said: Uint8Array[] = []
    const { message } = taker.carrier
    taker.carrier.message = (topic, payload) => {
      if (topic === to) said.push(payload)
      message.call(taker.carrier, topic, payload)
    }
    giver.hill.leave('q1', 'Q3SND', 'Q4RCV', 'once')
    minutes(clock, [giver, taker], 5)
    expect(taker.collect('Q4RCV')).toEqual(['once'])
    expect(said.length).toBeGreaterThan(3)
    for (let times = 0; times < 3; times++) {
      for (const payload of said) broker.forge(to, payload)
      minutes(clock, [giver, taker], 3)
    }
    expect(taker.collect('Q4RCV')).toEqual([])
  })

  it('is answered no more than a few times for what is no session', () => {
    const { clock, broker, taker } = pair()
    const before = broker.messages
    for (let at = 0; at < 1_000; at++) broker.forge(to, `link 1 ${'g'.repeat(16)} ${at + 1} more\n`)
    broker.cut = { after: 0, kind: 'before' }
    clock.advanceTo(clock.monotonicMs() + 60_000)
    expect(broker.messages - before).toBeLessThan(2_100)
    expect(taker.carrier.openCount).toBe(0)
  })
})
