import { describe, expect, it } from 'vitest'
import { holders, keptNames, noteHolders } from '../../src/setup/keptNames.js'
import { openTestStore } from '../store/openTestStore.js'

const wallMs = Date.UTC(2026, 0, 1)
const given = { call: 'Q1ABC-7', atWallMs: wallMs, by: 'the terminal' }

describe('tactical names that were given', () => {
  it('are there after a restart, in the same event, until they are taken back', () => {
    const { store } = openTestStore()
    const names = keptNames(store, 'Hill run')
    expect([names.set('CHECK3', given), names.set('START', { ...given, call: undefined })]).toEqual(
      [true, true],
    )
    const kept = () => [...keptNames(store, 'Hill run').all()]
    expect(kept()).toEqual([
      ['CHECK3', given],
      ['START', { atWallMs: wallMs, by: 'the terminal' }],
    ])
    expect([...keptNames(store, 'Other run').all()]).toEqual([])
    names.set('CHECK3', undefined)
    expect(kept().map(([name]) => name)).toEqual(['START'])
    expect([...names.all().keys()]).toEqual(['START'])
  })

  it('are not given where the database does not keep them', () => {
    const { store } = openTestStore()
    const names = keptNames({ ...store, durably: () => ({ ok: false }) as never }, 'Hill run')
    expect([names.set('CHECK3', given), names.all().size]).toEqual([false, 0])
  })
})

describe('holders', () => {
  it('are kept where they change, oldest first', () => {
    const { store } = openTestStore()
    const note = (call: string | undefined, atMs: number): void =>
      noteHolders(store, [{ name: 'CHECK3', call }], wallMs + atMs)
    note('Q1ABC', 0)
    note('Q1ABC', 1)
    note(undefined, 2)
    note(undefined, 3)
    note('Q2ABC', 4)
    expect(holders(store.serviceData)).toEqual([
      { name: 'CHECK3', call: 'Q1ABC', fromWallMs: wallMs },
      { name: 'CHECK3', fromWallMs: wallMs + 2 },
      { name: 'CHECK3', call: 'Q2ABC', fromWallMs: wallMs + 4 },
    ])
  })
})

describe('rows of names that have another shape', () => {
  const held = { name: 'CHECK3', call: 'Q1ABC', fromWallMs: wallMs }
  it.each([
    [
      ...['(tactical names)', { ...given, event: 'Hill run' }],
      [{ call: 7 }, { atWallMs: null }, { by: null }, { event: 7 }],
    ],
    ['(holders of names)', held, [{ call: null }, { fromWallMs: 'now' }, { name: 7 }]],
  ] as const)('%s are left out, counted, and kept', (service, sound, damaged) => {
    const { store, faults } = openTestStore()
    const rows = ['null', '7', '[]', ...damaged.map((one) => JSON.stringify({ ...sound, ...one }))]
    store.durably('a test', () => {
      store.serviceData.set(service, 'SOUND', JSON.stringify(sound))
      for (const [at, json] of rows.entries()) store.serviceData.set(service, `BAD${at}`, json)
    })
    const read = () => [[...keptNames(store, 'Hill run').all()], holders(store.serviceData)]
    const isGiven = service === '(tactical names)'
    const expected = isGiven ? [[['SOUND', given]], []] : [[], [held]]
    expect([read(), read()]).toEqual([expected, expected])
    expect(faults.map(({ code }) => code)).toEqual(rows.map(() => 'store-bad-row'))
    expect(store.serviceData.all(service).size).toBe(rows.length + 1)
  })
})
