// Sources: 47 CFR 97.119(a): the call sign at the end of each communication and at least every 10 minutes during it (text of
// 2004 read); 97.119(b)(1): Morse of an automatic device at most 20 words a minute; 97.119(b)(3): data may identify by a
// digital code, and that an AX.25 frame whose source field holds the call does so is common practice, no source.
import { describe, expect, it } from 'vitest'
import { parseConfig } from '../../src/config/load.js'
import { controllerBench } from '../radio/controllerBench.js'
import { frame, ownCall } from '../radio/fixtures.js'

const minuteMs = 60_000
const identification = { intervalMs: 9 * minuteMs, quietMs: 20_000, destination: 'ID' }
const client = (text: string): Uint8Array => frame('QQ9ZZ-3', text)

describe('97.119(a)', () => {
  it('during a communication: the call is on the air within 10 minutes, again and again', () => {
    const bench = controllerBench({ identification })
    // a client's frame every 10 s for an hour: never quiet for 20 s
    for (let count = 0; count < 360; count++) {
      bench.send(`c${count}`, client(`${count}`), 'client')
      bench.advanceTo((count + 1) * 10_000)
    }
    const calls = bench.events.filter(({ kind }) => kind === 'identified')
    expect(calls.length).toBe(6)
    let fromMs = bench.sent[0]!.fromMs
    for (const { atMs } of calls) {
      expect(atMs - fromMs).toBeLessThanOrEqual(10 * minuteMs)
      expect(atMs - fromMs).toBeGreaterThan(9 * minuteMs - 1)
      fromMs = atMs
    }
  })

  it('at the end of a communication: once we have been quiet, and never a second time', () => {
    const bench = controllerBench({ identification })
    bench.send('a', client('x'), 'client')
    bench.advanceTo(5000)
    bench.send('b', client('y'), 'client')
    bench.advanceTo(60 * minuteMs)
    const calls = bench.events.filter(({ kind }) => kind === 'identified')
    expect(calls).toHaveLength(1)
    const lastMs = bench.sent[1]!.toMs
    expect(calls[0]!.atMs).toBeGreaterThan(lastMs + 20_000)
    expect(calls[0]!.atMs).toBeLessThan(lastMs + 22_000)
  })

  it('is late by no busy channel alone: the first free moment has it, and nothing goes before it', () => {
    const bench = controllerBench({ identification })
    bench.send('a', client('x'), 'client')
    bench.advanceTo(1000)
    bench.feed({ kind: 'channel', busy: true })
    bench.advanceTo(9.5 * minuteMs)
    bench.send('b', client('y'), 'acknowledgement')
    bench.advanceTo(9.6 * minuteMs)
    bench.feed({ kind: 'channel', busy: false })
    bench.advanceTo(9.6 * minuteMs)
    expect(bench.sent).toHaveLength(2)
    expect(bench.sent[1]!.fromMs).toBe(9.6 * minuteMs)
    bench.advanceTo(9.7 * minuteMs)
    expect(bench.events.filter(({ kind }) => kind === 'identified')).toHaveLength(1)
    expect(bench.sent).toHaveLength(3)
  })

  it('has its airtime set aside: a duty limit that is used up does not delay it', () => {
    const dutyLimits = [{ windowMs: 6 * minuteMs, share: 0.02 }]
    const bench = controllerBench({ identification, dutyLimits })
    for (let count = 0; count < 20; count++)
      bench.send(`c${count}`, client('x'.repeat(60)), 'client', 30_000)
    bench.advanceTo(10 * minuteMs)
    expect(bench.outcomes.some(({ kind }) => kind === 'held')).toBe(true)
    const last = bench.sent.at(-1)!
    const before = bench.sent.at(-2)!
    expect(bench.events.filter(({ kind }) => kind === 'identified')).toHaveLength(1)
    expect(last.fromMs - before.toMs).toBeLessThan(20_200)
  })
})

describe('97.119(b)', () => {
  it('(3) a frame whose source field is our call identifies: no more is owed', () => {
    const bench = controllerBench({ identification })
    bench.send('a', frame(ownCall, 'x'))
    bench.send('b', frame('QQ1RP-3', 'another SSID is the same call'))
    bench.advanceTo(60 * minuteMs)
    expect(bench.sent).toHaveLength(2)
  })

  it('(3) but not when a frame of another call comes after it', () => {
    const bench = controllerBench({ identification })
    bench.feed({ kind: 'channel', busy: true })
    bench.send('a', frame(ownCall, 'x'), 'answer')
    bench.send('b', client('y'), 'client')
    bench.feed({ kind: 'channel', busy: false })
    bench.advanceTo(60 * minuteMs)
    expect(bench.sent).toHaveLength(2)
    expect(bench.events.filter(({ kind }) => kind === 'identified')).toHaveLength(1)
  })

  it('(1) 20 words a minute pass, 20.1 do not', () => {
    const morse = (speed: string) =>
      parseConfig(`[transmit.morse]\nenabled = true\nwordsPerMinute = ${speed}`, 'node.toml')
    expect(morse('20').radios[0]!.transmit.morse.wordsPerMinute).toBe(20)
    expect(() => morse('20.1')).toThrow(
      'node.toml: transmit.morse.wordsPerMinute: got 20.1, expected at most 20',
    )
  })

  it('(a) an interval of more than 10 minutes cannot be configured', () => {
    expect(() => parseConfig('[transmit]\nidentificationMinutes = 10.5', 'node.toml')).toThrow(
      'expected at most 10',
    )
  })
})
