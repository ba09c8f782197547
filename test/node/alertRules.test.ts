import { describe, expect, it } from 'vitest'
import {
  type AlertHold,
  type AlertRule,
  type AlertSources,
  alertRules,
} from '../../src/node/alertRules.js'

const hourMs = 3_600_000
const rule = (change: Partial<AlertRule>): AlertRule => ({
  ...{ name: 'test', when: 'heard', lastedMs: 0, againMs: 12 * hourMs, ...change },
})
const sources = (change: Partial<AlertSources> = {}): AlertSources => ({
  ...{ lastHeardWallMs: () => undefined, reading: () => undefined, freeMb: () => undefined },
  ...{ holds: () => [], brokerUp: () => undefined, ...change },
})
const texts = (alerts: readonly { readonly text: string }[]): string[] =>
  alerts.map(({ text }) => text)

describe('rules of the operator', () => {
  it('not heard: after so long, again while it lasts, and once when it is over', () => {
    const rules = alertRules(
      [rule({ name: 'silent', when: 'not-heard', station: 'Q0DIG-1', lastedMs: 6 * hourMs })],
      0,
    )
    let wallMs = 1000
    const look = (hours: number): string[] =>
      texts(rules.look(sources({ lastHeardWallMs: () => wallMs }), hours * hourMs))
    expect(look(1)).toEqual([])
    wallMs = 2000
    expect(look(5)).toEqual([])
    expect(look(10.9)).toEqual([])
    expect(look(11)).toEqual(['Alert silent: Q0DIG-1 not heard for 6h'])
    expect(look(22)).toEqual([])
    expect(look(23)).toEqual(['Alert silent: Q0DIG-1 not heard for 18h'])
    // the clock was set back: a stamp that changes is a station that was heard
    wallMs = 500
    expect(look(24)).toEqual(['Alert over: silent'])
    expect(look(25)).toEqual([])
  })

  it('heard: each time that it comes, at most once in so long', () => {
    const rules = alertRules([rule({ name: 'here', station: 'Q1ABC-7' })], 0)
    let wallMs: number | undefined
    const look = (hours: number): string[] =>
      texts(rules.look(sources({ lastHeardWallMs: () => wallMs }), hours * hourMs))
    expect(look(1)).toEqual([])
    wallMs = 7
    expect(look(2)).toEqual(['Alert here: Q1ABC-7 is heard'])
    wallMs = 8
    expect(look(3)).toEqual([])
    expect(look(15)).toEqual([])
    wallMs = 9
    expect(look(16)).toEqual(['Alert here: Q1ABC-7 is heard'])
  })

  it('telemetry at its limit, and without a reading; what comes and goes is told once', () => {
    const below = rule({ name: 'battery', when: 'telemetry-below', channel: 'Battery', value: 12 })
    const rules = alertRules([below, { ...below, name: 'high', when: 'telemetry-above' }], 0)
    const look = (reading: number | undefined, hours: number): string[] =>
      texts(rules.look(sources({ reading: () => reading }), hours * hourMs))
    expect(look(12, 0)).toEqual([])
    expect(look(11.9, 1)).toEqual(['Alert battery: Battery 11.9, limit 12'])
    expect(look(undefined, 2)).toEqual([])
    expect(look(12, 3)).toEqual(['Alert over: battery'])
    expect(look(11.9, 4)).toEqual([])
    expect(look(12.1, 5)).toEqual(['Alert high: Battery 12.1, limit 12'])
    expect(look(11.9, 13)).toEqual(['Alert battery: Battery 11.9, limit 12', 'Alert over: high'])
  })

  it('the link to the broker: away for so long, of less than an hour in tenths; where there is none nothing', () => {
    const away = rule({ name: 'link', when: 'broker-away', lastedMs: 0.5 * hourMs })
    const rules = alertRules([away], 0)
    const look = (isUp: boolean | undefined, hours: number): string[] =>
      texts(rules.look(sources({ brokerUp: () => isUp }), hours * hourMs))
    expect(look(undefined, 1)).toEqual([])
    expect(look(true, 2)).toEqual([])
    expect(look(false, 2.4)).toEqual([])
    expect(look(false, 2.55)).toEqual(['Alert link: broker away for 0.5h'])
    expect(look(true, 3)).toEqual(['Alert over: link'])
    // a link that comes and goes is told once in so long
    expect(look(false, 4)).toEqual([])
    expect(look(false, 16)).toEqual(['Alert link: broker away for 13h'])
  })

  it('the disk, holds that last, and calls for help', () => {
    const rules = alertRules(
      [
        rule({ name: 'disk', when: 'disk-below', value: 500 }),
        rule({ name: 'held', when: 'held', lastedMs: hourMs }),
        rule({ name: 'help', when: 'emergency' }),
      ],
      0,
    )
    const away = { radio: 'hill', source: 'key line', reason: 'away' }
    const look = (
      freeMb: number | undefined,
      holds: readonly AlertHold[],
      hours: number,
    ): string[] =>
      texts(rules.look(sources({ freeMb: () => freeMb, holds: () => holds }), hours * hourMs))
    expect(look(undefined, [away], 0.5)).toEqual([])
    expect(look(500, [], 0.9)).toEqual([])
    expect(look(499.9, [away], 1)).toEqual(['Alert disk: 499 MB free, limit 500'])
    expect(look(499.9, [away], 1.9)).toEqual(['Alert held: hill held by the key line'])
    expect(look(501, [], 2)).toEqual(['Alert over: disk', 'Alert over: held'])
  })

  it('calls for help: of each station once, whatever others called before; exercises are named', () => {
    const rules = alertRules([rule({ name: 'help', when: 'emergency', againMs: 12 * hourMs })], 0)
    const help = (station: string, hours: number, exercise = false): string[] =>
      texts(rules.emergency({ station, exercise, text: `${station}: SOS` }, hours * hourMs))
    expect(help('Q1ABC-7', 0, true)).toEqual(['Alert help: exercise: Q1ABC-7: SOS'])
    expect(help('Q1ABC-7', 0)).toEqual(['Alert help: Q1ABC-7: SOS'])
    expect(help('Q1ABC-7', 1)).toEqual([])
    expect(help('Q2XYZ', 1)).toEqual(['Alert help: Q2XYZ: SOS'])
    expect(help('Q1ABC-7', 12)).toEqual(['Alert help: Q1ABC-7: SOS'])
  })

  it('calls for help: forged under many calls they are bounded, and exercises take no room of others', () => {
    const rules = alertRules([rule({ name: 'help', when: 'emergency', againMs: 12 * hourMs })], 0)
    const told = (exercise: boolean): number =>
      Array.from({ length: 50 }, (_, at) =>
        rules.emergency({ station: `Q${at}X`, exercise, text: 'SOS' }, at),
      ).flat().length
    expect([told(true), told(false)]).toEqual([2, 8])
    const late = { station: 'Q1ABC', exercise: false, text: 'SOS' }
    expect(rules.emergency(late, hourMs + 50)).toHaveLength(1)
  })

  it('fits one message, whatever the words', () => {
    const rules = alertRules([rule({ name: 'n'.repeat(25), when: 'held' })], 0)
    const [text] = texts(
      rules.look(sources({ holds: () => [{ radio: 'x'.repeat(300), source: '', reason: '' }] }), 1),
    )
    expect(text!.length).toBeLessThanOrEqual(67)
  })
})

describe('a rule of the operator', () => {
  const look = (rules: ReturnType<typeof alertRules>, change: Partial<AlertSources>, ms: number) =>
    rules.look(sources(change), ms)

  it('of holds says more of it to the log, and counts from when nothing held', () => {
    const rules = alertRules([rule({ name: 'held', when: 'held', lastedMs: hourMs })], 0)
    const held = { holds: () => [{ radio: 'hill', source: 'operator', reason: 'lunch' }] }
    expect(look(rules, held, hourMs - 1)).toEqual([])
    expect(look(rules, {}, hourMs - 1)).toEqual([])
    expect(look(rules, held, 2 * hourMs - 2)).toEqual([])
    expect(look(rules, held, 2 * hourMs - 1)).toEqual([
      { name: 'held', text: 'Alert held: hill held by the operator', detail: 'operator: lunch' },
    ])
    expect(look(rules, {}, 2 * hourMs)).toEqual([{ name: 'held', text: 'Alert over: held' }])
  })

  it('is told again when so long has passed, and not before', () => {
    const disk = rule({ name: 'disk', when: 'disk-below', value: 500, againMs: 5_000 })
    const rules = alertRules([disk], 0)
    const low = { freeMb: () => 100 }
    const told = [1_000, 5_999, 6_000, 10_999, 11_000].map((ms) => look(rules, low, ms).length)
    expect(told).toEqual([1, 0, 1, 0, 1])
  })

  it('that does not hold says nothing of being over', () => {
    const rules = alertRules([rule({ when: 'disk-below', value: 500 })], 0)
    expect(look(rules, { freeMb: () => 900 }, 1)).toEqual([])
  })

  it('of a station tells nothing at the first look, whatever was heard before', () => {
    const heard = alertRules([rule({ name: 'here', station: 'Q1ABC' })], 0)
    const at = (lastHeardWallMs: number | undefined, ms: number) =>
      texts(look(heard, { lastHeardWallMs: () => lastHeardWallMs }, ms))
    expect(at(7, 1)).toEqual([])
    expect(at(7, 2)).toEqual([])
    expect(at(undefined, 3)).toEqual([])
    expect(at(8, 4)).toEqual(['Alert here: Q1ABC is heard'])
    // it is gone again: no end is told of that
    expect(at(8, 5)).toEqual([])
  })

  it('of a silent station counts from the start where it was never heard', () => {
    const silent = rule({ name: 's', when: 'not-heard', station: 'Q1ABC', lastedMs: 90 * 60_000 })
    const rules = alertRules([silent], 1_000)
    expect(look(rules, {}, 1_000 + 90 * 60_000 - 1)).toEqual([])
    expect(texts(look(rules, {}, 1_000 + 90 * 60_000))).toEqual(['Alert s: Q1ABC not heard for 1h'])
  })

  it('of a silence below an hour tells tenths', () => {
    const silent = rule({ name: 's', when: 'not-heard', station: 'Q1ABC', lastedMs: 59 * 60_000 })
    expect(texts(look(alertRules([silent], 0), {}, 59 * 60_000))).toEqual([
      'Alert s: Q1ABC not heard for 0.9h',
    ])
  })

  it('of a broker that is away at the start counts from there, and ends when it is back', () => {
    const away = rule({ name: 'link', when: 'broker-away', lastedMs: hourMs })
    const rules = alertRules([away], 0)
    const at = (isUp: boolean | undefined, ms: number) =>
      texts(look(rules, { brokerUp: () => isUp }, ms))
    expect(at(false, hourMs - 1)).toEqual([])
    expect(at(false, hourMs)).toEqual(['Alert link: broker away for 1h'])
    // not known: it stays as it was
    expect(at(undefined, 2 * hourMs)).toEqual([])
    expect(at(true, 3 * hourMs)).toEqual(['Alert over: link'])
  })

  it('of calls for help is no matter of looking, and others are none of calling', () => {
    const rules = alertRules([rule({ name: 'help', when: 'emergency' })], 0)
    expect(look(rules, { freeMb: () => 0 }, 1)).toEqual([])
    const two = alertRules(
      [
        rule({ name: 'a', when: 'emergency', againMs: 1_000 }),
        rule({ name: 'b', when: 'emergency', againMs: 2_000 }),
        rule({ name: 'c', when: 'held' }),
      ],
      0,
    )
    const call = { station: 'Q1ABC', exercise: false, text: 'SOS' }
    const told = (ms: number) => two.emergency(call, ms).map(({ name }) => name)
    expect([told(0), told(999), told(1_000), told(2_000)]).toEqual([
      ...[['a', 'b'], [], ['a'], ['a', 'b']],
    ])
  })

  it('of calls for help is told eight times in an hour, and twice of exercises, each rule by itself', () => {
    const rules = alertRules(
      [rule({ name: 'a', when: 'emergency' }), rule({ name: 'b', when: 'emergency' })],
      0,
    )
    const count = (exercise: boolean, calls: number, ms: number): number =>
      Array.from({ length: calls }, (_, at) =>
        rules.emergency({ station: `Q${ms}X${at}`, exercise, text: 'SOS' }, ms),
      ).flat().length
    expect([count(true, 5, 0), count(false, 20, 0)]).toEqual([4, 16])
    expect([count(true, 5, hourMs - 1), count(false, 20, hourMs - 1)]).toEqual([0, 0])
    expect([count(true, 5, hourMs), count(false, 20, hourMs)]).toEqual([4, 16])
  })
})
