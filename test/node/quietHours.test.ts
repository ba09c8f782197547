import { describe, expect, it } from 'vitest'
import { quietUntil } from '../../src/node/quietHours.js'
import type { ClockTrust } from '../../src/runtime/clockTrust.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { Service } from '../../src/services/service.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { testNode } from './testNode.js'

const at = (time: string): number => Date.parse(`2026-06-21T${time}:00Z`)
const night = { fromMinute: 22 * 60, toMinute: 6 * 60 }

describe('quiet hours', () => {
  it.each([
    ['21:59', 0, undefined],
    ['22:00', 0, '06:00'],
    ['05:59', 0, '06:00'],
    ['06:00', 0, undefined],
    ['20:30', 120, '06:00'],
    ['23:30', -120, undefined],
  ])('%s UTC, %i minutes east: %s', (time, offset, until) => {
    expect(quietUntil(night, at(time), offset)).toBe(until)
  })

  it('within one day, and before 1970', () => {
    const noon = { fromMinute: 12 * 60, toMinute: 13 * 60 + 5 }
    const quiet = ['11:59', '12:00', '13:04', '13:05'].map((time) => quietUntil(noon, at(time), 0))
    expect(quiet).toEqual([undefined, '13:05', '13:05', undefined])
    expect(quietUntil(night, -1, 0)).toBe('06:00')
  })

  it('that end when they begin are none', () => {
    const none = { fromMinute: 12 * 60, toMinute: 12 * 60 }
    const quiet = ['00:00', '11:59', '12:00', '23:59'].map((time) => quietUntil(none, at(time), 0))
    expect(quiet).toEqual([undefined, undefined, undefined, undefined])
  })
})

describe('a node in its quiet hours', () => {
  const quietNode = (startWallMs = at('21:30'), clockTrust?: ClockTrust) =>
    testNode({
      ...(clockTrust && { clockTrust }),
      clock: virtualClock(startWallMs),
      options: {
        quiet: night,
        beacons: {
          ...defaultNodeOptions({ call: 'N0DE-10' }).beacons,
          schedules: [{ kind: 'position', everyMs: 600_000 }],
        },
        position: { latitudeDeg: 45, longitudeDeg: -36 },
      },
    })

  it('keeps them only by a clock that is believed: with another it answers by night', async () => {
    let isTrusted = false
    const node = quietNode(at('23:00'), {
      ...{
        trusted: () => isTrusted,
        confirmed: () => isTrusted,
        gpsSays: () => {},
        wasAhead: () => {},
      },
      steps: { count: 0, lastMs: 0 },
    })
    node.ask('Q1ABC-7', 'echo perhaps day')
    await node.wait(30)
    expect(node.sentTexts().join()).toContain('perhaps day')
    isTrusted = true
    node.ask('Q1ABC-7', 'echo night')
    await node.wait(30)
    expect(node.sentTexts().join()).not.toContain('night')
  })

  it('answers nobody but who calls for help, tells no beacon, and says why in the log', async () => {
    const node = quietNode()
    await node.wait(60)
    node.ask('Q1ABC-7', 'echo day')
    await node.wait(30)
    expect(node.sentTexts().join()).toContain('day')
    await node.wait(3600)
    node.sentTexts()
    node.ask('Q1ABC-7', 'echo night{7')
    node.hear('Q1ABC-7>APZ001:?APRS?')
    node.hear('Q1ABC-7>APZ001::Q2ABC    :not for us')
    await node.wait(1200)
    expect(node.sentTexts()).toEqual([])
    const reasons = node.events.filter(({ kind }) => kind === 'heard').map(({ reason }) => reason)
    expect(reasons).toContain('quiet hours until 06:00')
    expect(reasons.at(-1)).toBe('not addressed to us')
    node.ask('Q3ABC-7', 'EMERGENCY broken leg{1')
    await node.wait(60)
    expect(node.sentTexts().join()).toMatch(/ack1/)
  })

  it('what the operator sends goes out, and is acknowledged; at the end it answers again', async () => {
    const node = quietNode(at('23:00'))
    expect(node.node.say({ to: 'Q1ABC-7', text: 'come down' }).ok).toBe(true)
    await node.wait(5)
    const [sent] = node.sentTexts()
    expect(sent).toContain('come down')
    const number = /\{(\w+)/.exec(sent!)![1]
    node.hear(`Q1ABC-7>APZ001::N0DE-10  :ack${number}`)
    await node.wait(300)
    expect(node.sentTexts()).toEqual([])
    await node.wait(7 * 3600)
    node.sentTexts()
    node.ask('Q1ABC-7', 'echo morning')
    await node.wait(30)
    expect(node.sentTexts().join()).toContain('morning')
  })

  it('takes other quiet hours, and other words, while it runs', async () => {
    const node = quietNode(at('23:00'))
    const options = defaultNodeOptions({ call: 'N0DE-10', ignored: ['Q2ABC'] })
    node.node.setOptions(options)
    node.ask('Q1ABC-7', 'echo now')
    node.ask('Q2ABC-7', 'echo me too')
    await node.wait(60)
    expect(node.sentTexts().join()).toMatch(/now/)
    node.node.setOptions({ ...options, answering: false })
    node.ask('Q1ABC-7', 'echo again')
    await node.wait(60)
    expect(node.sentTexts()).toEqual([])
    node.node.setOptions({ ...options, emergency: { ...options.emergency, reply: 'Heard you.' } })
    node.ask('Q3ABC-7', 'EMERGENCY broken leg{1')
    await node.wait(60)
    expect(node.sentTexts().join()).toContain('Heard you.')
  })

  it('what is under way while other options come goes on: each is answered once, no frame is lost', async () => {
    const node = testNode()
    const options = defaultNodeOptions({ call: 'N0DE-10' })
    for (let turn = 0; turn < 20; turn++) {
      node.ask(`Q${turn % 10}ABC-7`, `echo word${turn}`)
      await node.wait(turn % 3)
      node.node.setOptions({ ...options, answers: { ...options.answers, window: 1 + (turn % 3) } })
      await node.wait(2)
    }
    await node.wait(300)
    const heard = node.events.filter(({ kind }) => kind === 'heard')
    expect(heard).toHaveLength(20)
    const first = new Map<string, number>()
    for (const text of node.sentTexts()) {
      const word = /:(word\d+)/.exec(text)?.[1]
      if (word !== undefined) first.set(word, (first.get(word) ?? 0) + 1)
    }
    expect(first.size).toBe(20)
    expect(node.events.filter(({ kind }) => kind === 'answered')).toHaveLength(20)
  })

  it('a service that acts by itself waits for the end of the quiet hours', async () => {
    let count = 0
    const acting: Service = {
      ...{ keyword: 'net', summary: 'reminds', usage: 'net', answer: () => '' },
      acts: {
        everyMs: 600_000,
        onHeard: false,
        act: async () => {
          count++
        },
      },
    }
    const node = testNode({
      ...{ clock: virtualClock(at('21:00')), services: [acting], options: { quiet: night } },
    })
    await node.wait(3500)
    expect(count).toBe(5)
    await node.wait(100)
    const before = count
    await node.wait(8 * 3600 - 600)
    expect(count).toBe(before)
    await node.wait(1200)
    expect(count).toBeGreaterThan(before)
  })
})
