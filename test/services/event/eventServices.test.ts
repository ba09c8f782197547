import { describe, expect, it } from 'vitest'
import { dispatch } from '../../../src/services/dispatch.js'
import { confirmedService } from '../../../src/services/event/confirmed.js'
import { parseNames } from '../../../src/services/event/parseNames.js'
import { rollService } from '../../../src/services/event/roll.js'
import { tacticalName, tacticalNames } from '../../../src/services/event/tacticalNames.js'
import { heardService } from '../../../src/services/heard.js'
import { leaveService } from '../../../src/services/mailbox.js'
import type { LeaveResult, MailboxView, Service } from '../../../src/services/service.js'
import { testContext } from '../testContext.js'

const file =
  'name,call,list\nNET,Q1NET-1,\nCHECK1,Q1ABC-7,MARSHALS\nCHECK2,Q1DEF-7,MARSHALS/ROAD\nCHECK3,,ROAD\n'

function entriesOf(text: string) {
  const parsed = parseNames(text)
  if (!('entries' in parsed)) throw new Error(parsed.got)
  return parsed
}

/** The event's services with a mailbox that notes what is left. */
function bench(more: { isExercise?: boolean; isOn?: () => boolean; result?: LeaveResult } = {}) {
  const given = new Map()
  let changes = 0
  const isOn = more.isOn ?? (() => true)
  const names = tacticalNames({
    entries: () => entriesOf(file).entries,
    keeping: {
      all: () => given,
      set(name, one) {
        if (one === undefined) given.delete(name)
        else given.set(name, one)
        return true
      },
    },
    ...{ isOn, isExercise: more.isExercise ?? false, wallMs: () => 0, onChange: () => changes++ },
  })
  const left: [id: string, to: string, text: string][] = []
  const mailbox: MailboxView = {
    leave(question, to, text) {
      left.push([question.id, to, text])
      return more.result ?? { ok: true, waitingCount: 1, keptMs: 604_800_000 }
    },
    waitingFor: () => [],
    collect: () => [],
    leftForSeveral: () => ({
      text: `${names.mark}the path is closed`,
      receivers: [
        { to: 'CHECK1', state: 'delivered' },
        { to: 'CHECK2', state: 'sending' },
        { to: 'Q5XYZ', state: 'expired' },
      ],
    }),
  }
  const checkpoint: Service = {
    ...{ keyword: 'checkpoint', summary: 'x', usage: 'x' },
    answer: ({ words }) => `own service: ${words.join(' ')}`,
  }
  const services = [
    leaveService,
    heardService({ positionAgeMaxMs: 1e9 }),
    rollService({ names, isOn, presentMs: 1_800_000 }),
    confirmedService({ names, isOn }),
    checkpoint,
  ]
  const base = testContext()
  const heard = (call: string, agoMin: number) => ({
    ...{ call, via: ['direct'], frameCount: 1 },
    lastHeardWallMs: base.clock.wallMs() - agoMin * 60_000,
  })
  const stations = [heard('Q1NET-1', 1), heard('Q1ABC-7', 5), heard('Q1DEF-7', 52)]
  const context = testContext({
    ...{ clock: base.clock, names, mailbox, services },
    stations: { ...base.stations, find: (call) => stations.find((one) => one.call === call) },
  })
  const ask = async (text: string) =>
    (await dispatch({ id: 'q', from: 'Q1NET-1', text }, { services }, context)).messages.join(' / ')
  return { names, left, ask, given, changes: () => changes }
}

describe('a file of names', () => {
  it('names what is wrong, by line, and keeps the rest', () => {
    const { entries, rejected } = entriesOf(
      `${file}CHECK1,Q9DUP,\nQ1ABC,Q1ABC-7,\nTOOLONGNAME,Q1ABC-7,\nA1,not a call,\nALL,Q1ABC,\nFINISH,Q1FIN,ALL\n`,
    )
    expect(entries.map(({ name }) => name)).toEqual(['NET', 'CHECK1', 'CHECK2', 'CHECK3'])
    expect(rejected.map(({ line }) => line)).toEqual([6, 7, 8, 9, 10, 11])
    expect(entries[2]).toEqual({ name: 'CHECK2', call: 'Q1DEF-7', lists: ['MARSHALS', 'ROAD'] })
    expect(parseNames('a,b\n1,2\n')).toEqual({ got: 'the columns "a", "b"' })
  })

  it('a call sign is no tactical name, however it is keyed', () => {
    for (const word of [
      'Q1ABC',
      'Q1ABC-7',
      'n0call',
      'ALL',
      'A',
      'WITH-SIGN',
      '123',
      'LONGERTHAN9',
    ])
      expect(tacticalName(word), word).toBeUndefined()
    expect(['check1', 'Net.', 'MED2:'].map(tacticalName)).toEqual(['CHECK1', 'NET', 'MED2'])
  })
})

describe('messages to names', () => {
  it('one goes to the name itself, whoever holds it by then', async () => {
    const { ask, left } = bench()
    expect(await ask('leave check1 water, please: two cans')).toBe(
      'Kept for CHECK1 (Q1ABC-7). You are told when it has it.',
    )
    expect(await ask('leave CHECK3: hurry')).toBe(
      'Kept for CHECK3: no station holds it now. You will be told.',
    )
    expect(left).toEqual([
      ['q', 'CHECK1', 'water, please: two cans'],
      ['q', 'CHECK3', 'hurry'],
    ])
  })

  it('one text goes to several, to a list and to all, each once under an id of its own', async () => {
    const { ask, left } = bench()
    expect(await ask('leave MARSHALS,NET,q5xyz,check1 path closed')).toBe(
      'Kept for 4. Who has it: send confirmed',
    )
    expect(left).toEqual([
      ['q>CHECK1', 'CHECK1', 'path closed'],
      ['q>CHECK2', 'CHECK2', 'path closed'],
      ['q>NET', 'NET', 'path closed'],
      ['q>Q5XYZ', 'Q5XYZ', 'path closed'],
    ])
    await ask('leave all meet at the hut')
    expect(left.slice(4).map(([, to]) => to)).toEqual(['NET', 'CHECK1', 'CHECK2', 'CHECK3'])
  })

  it('nothing is kept where one receiver is not known, or the text is missing', async () => {
    const { ask, left } = bench()
    expect(await ask('leave CHECK1,HELLO hi')).toBe(
      'Not kept: "HELLO" is no name, list or call sign here',
    )
    expect(await ask('leave CHECK9 hi')).toMatch(/^Not kept: "CHECK9" is no name/)
    expect(await ask('leave MARSHALS')).toBe(
      'What should MARSHALS be told? Send leave MARSHALS TEXT',
    )
    expect(left).toEqual([])
    expect(await ask('leave Q5XYZ-7 hi')).toBe(
      'Kept 7 days for Q5XYZ-7. You are told when it is delivered.',
    )
  })

  it('an exercise says so in what it carries, and counts that among the characters', async () => {
    const tooLong = {
      ok: false,
      reason: 'too-long',
      excessCharacters: 9,
      charactersMax: 58,
    } as const
    expect(await bench({ isExercise: true, result: tooLong }).ask('leave CHECK1 x')).toBe(
      'Not kept: 9 characters too long, at most 49',
    )
    const { ask, left } = bench({ isExercise: true })
    await ask('leave CHECK1 fire')
    expect(left[0]![2]).toBe('EXERCISE fire')
    expect(await ask('roll')).toMatch(/^EXERCISE /)
  })
})

describe('the other services', () => {
  it('take a name for its station; a service of the club takes its own words', async () => {
    const { ask, names } = bench()
    expect(await ask('heard CHECK1')).toMatch(/^Q1ABC-7 5min ago/)
    expect(await ask('check1?')).toMatch(/^Q1ABC-7 5min ago/)
    expect(await ask('heard CHECK3')).toBe('Nobody holds CHECK3 now.')
    expect(await ask('checkpoint CHECK1 12')).toBe('own service: CHECK1 12')
    names.give('CHECK1', 'q1def-7', 'test')
    expect(await ask('heard check1')).toMatch(/^Q1DEF-7 52min ago/)
  })

  it('roll says who is missing since when, of all or of a list', async () => {
    const { ask } = bench()
    expect(await ask('roll')).toBe(
      '2 of 4 heard in the last 30min. Missing: CHECK3(never), / CHECK2(52min)',
    )
    expect(await ask('roll 60')).toMatch(/^3 of 4 heard in the last 60min. Missing: CHECK3/)
    expect(await ask('roll 60 marshals')).toBe('2 of 2 heard in the last 60min.')
    expect(await ask('wer fehlt?')).toMatch(/^2 von 4 gehoert/)
  })

  it('confirmed says who has the last text to several', async () => {
    expect(await bench().ask('confirmed')).toBe(
      '1 of 3 have "the path is clos..". Not yet: CHECK2. Refused: Q5XYZ',
    )
  })

  it('outside of the event there are no names, and what was left finds its holder still', async () => {
    const { ask, names } = bench({ isOn: () => false })
    expect(await ask('roll')).toBe('No event is on now.')
    expect(await ask('heard CHECK1')).toBe('CHECK1 was not heard here.')
    expect(names.heldBy('Q1ABC-7')).toEqual(['CHECK1'])
  })
})

describe('giving a name', () => {
  it('wins over the file until it is given back to it', () => {
    const { names, changes } = bench()
    expect(names.give('check3', 'Q7NEW-1', 'test')).toEqual({
      ok: true,
      name: 'CHECK3',
      call: 'Q7NEW-1',
    })
    expect(names.holder('CHECK3')).toBe('Q7NEW-1')
    expect(names.give('CHECK1', '-', 'test')).toMatchObject({ ok: true, call: undefined })
    expect(names.holder('CHECK1')).toBeUndefined()
    expect(names.give('CHECK1', 'file', 'test')).toMatchObject({ call: 'Q1ABC-7' })
    expect(changes()).toBe(3)
    expect(names.give('Q1ABC', 'Q1DEF', 'test').ok).toBe(false)
    expect(names.give('CHECK1', 'nocall', 'test').ok).toBe(false)
    expect(names.give('FINISH', 'Q1FIN', 'test').ok, 'a name of no file').toBe(true)
    expect(names.nameOf('finish')).toBe('FINISH')
  })
})
