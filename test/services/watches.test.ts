import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { backService } from '../../src/services/back.js'
import { dispatch } from '../../src/services/dispatch.js'
import { leaveService } from '../../src/services/mailbox.js'
import type { ServiceContext } from '../../src/services/service.js'
import { tellService } from '../../src/services/tell.js'
import { watchesIn } from '../../src/services/watchRecords.js'
import { testContext } from './testContext.js'

const startMs = Date.UTC(2026, 5, 21, 16)

function world(more: Partial<ServiceContext> = {}, tellsOperator = false) {
  const kept = new Map<string, string>()
  const clock = virtualClock(startMs)
  const context = testContext({
    clock,
    storage: {
      read: () => kept,
      write: (_, changes) => {
        for (const [key, value] of changes)
          value === undefined ? kept.delete(key) : kept.set(key, value)
      },
    },
    ...more,
  })
  const services = [backService({ tellsOperator }), tellService, leaveService]
  let asked = 0
  const ask = async (text: string, from = 'Q1KIT-7') =>
    (await dispatch({ id: `q${++asked}`, from, text }, { services }, context)).messages.join(' / ')
  return { ask, clock, watches: () => watchesIn(kept), kept }
}

describe('back', () => {
  it('is set for a time of day, local time, with who is told', async () => {
    const { ask, watches } = world()
    // 16:00 UTC is 14:00 here.
    expect(await ask('back 18:00 Q1ABC')).toBe(
      'Due back 18:00 (in 4h). Be heard from 17:00 on, or: back off / Else told: Q1ABC. This replaces no alarm plan.',
    )
    expect(watches()).toEqual([
      {
        ...{ id: 'q1', kind: 'back', from: 'Q1KIT-7', call: 'Q1ABC', dueText: '18:00' },
        ...{ totalMs: 4 * 3_600_000, remainingMs: 4 * 3_600_000 },
        dueWallMs: startMs + 4 * 3_600_000,
      },
    ])
    expect(await ask('back')).toBe('Due back 18:00, 4h left. Else told: Q1ABC')
    expect(await ask('back off')).toBe('Your watch is withdrawn.')
    expect(await ask('back off')).toBe('You have no watch running.')
    expect(watches()).toEqual([])
  })

  it('of a time that is over is of tomorrow, and a new one takes the place of the old', async () => {
    const { ask, watches } = world()
    await ask('back 18:00 Q1ABC')
    expect(await ask('back 13:00 Q1ABC')).toMatch(/^Due back 13:00 \(in 23h\)/)
    expect(watches().map(({ dueText }) => dueText)).toEqual(['13:00'])
  })

  it.each([
    ['back 18:00', 'Name who is to be told: back 18:00 CALL'],
    ['back 18:00 Q1KIT-7', 'Name who is to be told: back 18:00 CALL'],
    ['back 3h', 'Name who is to be told: back 18:00 CALL'],
    ['back in 3h', 'Name who is to be told: back 18:00 CALL'],
    ['back 9min Q1ABC', 'Send a time from 10 minutes to 24 hours ahead.'],
    ['back 14:05 Q1ABC', 'Send a time from 10 minutes to 24 hours ahead.'],
    ['back soon Q1ABC', 'Send e.g. back 18:00 N0CALL-7, or back 3h N0CALL-7'],
    ['back', 'You have no watch running. / Send e.g. back 18:00 N0CALL-7, or back 3h N0CALL-7'],
  ])('%s', async (text, answer) => {
    const { ask, watches } = world()
    expect(await ask(text)).toBe(answer)
    expect(watches()).toEqual([])
  })

  it('tells the operator, too, where the operator is told of alerts', async () => {
    const { ask } = world({}, true)
    expect(await ask('back 18:00')).toMatch(/Else told: the operator\./)
    expect(await ask('back 18:00 Q1ABC')).toMatch(/Else told: Q1ABC and the operator\./)
  })

  it('takes no time of day from a clock that is not trusted, and hours all the same', async () => {
    const { ask, watches } = world({ clockTrusted: false, clockConfirmed: false })
    expect(await ask('back 18:00 Q1ABC')).toBe(
      'The clock here is not checked: send hours, like back 3h Q1ABC',
    )
    expect(await ask('back 3h Q1ABC')).toMatch(/^Due back \+3h \(in 3h\). Be heard from \+2h on/)
    expect(watches()[0]!.dueWallMs).toBeUndefined()
  })

  it('is asked for in five languages', async () => {
    const { ask, watches } = world()
    const asked = [
      ['overdue 18:00 Q1ABC', /^Due back/],
      ['zurück um 18 Uhr Q1ABC', /^Zurueck bis 18:00/],
      ['retour à 18h Q1ABC', /^Retour a 18:00/],
      ['vuelvo a las 18:00 Q1ABC', /^Vuelta: 18:00/],
      ['rientro alle 18 Q1ABC', /^Rientro 18:00/],
    ] as const
    for (const [text, answer] of asked) {
      expect(await ask(text), text).toMatch(answer)
      expect(watches()[0], text).toMatchObject({ call: 'Q1ABC', totalMs: 4 * 3_600_000 })
    }
  })

  it('has no room for more than 200', async () => {
    const { ask, kept } = world()
    for (let at = 0; at < 199; at++)
      await ask(
        'back 18:00 Q1ABC',
        `Q${at % 10}A${String.fromCharCode(65 + (at % 26))}${String.fromCharCode(65 + ((at * 7) % 26))}-${at % 16}`,
      )
    while (kept.size < 200) kept.set(`back ${kept.size}`, [...kept.values()][0]!)
    expect(await ask('back 18:00 Q1ABC', 'Q1NEW')).toMatch(/^Not set: too many/)
  })
})

describe('tell', () => {
  it('waits for a station, five of one asker at most', async () => {
    const { ask, watches } = world()
    expect(await ask('tell Q1ABC-9')).toBe('You are told once when Q1ABC-9 is heard, for 7 days.')
    expect(await ask('tell me when Q2DEF is heard')).toMatch(/Q2DEF is heard, for 7 days/)
    for (const call of ['Q3A', 'Q4A', 'Q5A']) await ask(`tell ${call}`)
    expect(await ask('tell Q6A')).toBe('Not set: 5 of yours stand already.')
    expect(await ask('tell Q3A')).toMatch(/^You are told once/)
    expect(watches().map(({ call }) => call)).toEqual(['Q1ABC-9', 'Q2DEF', 'Q3A', 'Q4A', 'Q5A'])
  })
  it('with a text is a message to leave', async () => {
    const { ask, watches } = world()
    expect(await ask('tell Q1ABC I am late')).toMatch(/^Kept 7 days for Q1ABC/)
    expect(watches()).toEqual([])
  })
  it.each([
    ['tell', 'Which station? Send e.g. tell N0CALL-7'],
    ['tell nobody', '"nobody" is not a call sign. Send tell CALL'],
    ['let me know when it rains', 'I tell only when a station is heard, no other alarm: tell CALL'],
    ['wake me at 6pm', 'I tell only when a station is heard, no other alarm: tell CALL'],
    ['tell N0CALL-10', 'N0CALL-10 is this node, and hears you.'],
  ])('%s', async (text, answer) => {
    expect(await world().ask(text)).toBe(answer)
  })
})

it('what is no watch among what is kept is left out', () => {
  expect(
    watchesIn(
      new Map([
        ['a', 'null'],
        ['b', '{"kind":"back"}'],
        ['c', '7'],
      ]),
    ),
  ).toEqual([])
})
