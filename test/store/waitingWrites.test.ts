import { truncateSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { GatheredWrite } from '../../src/store/gatheredWrites.js'
import { gatherFileOf } from '../../src/store/gatherFile.js'
import { waitingWrites } from '../../src/store/waitingWrites.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

/** With a gathering file that is a list of records. */
function bench(countMax = 100) {
  const file: { readonly number: number; readonly names: readonly string[] }[] = []
  let readCount = 0
  const write = (name: string, done?: () => void): GatheredWrite => ({
    name: 'event',
    values: [name],
    done,
  })
  const waiting = waitingWrites(countMax, function* (fromRecord) {
    for (const { number, names } of file) {
      if (number < fromRecord) continue
      readCount++
      yield names.map((name) => write(name))
    }
  })
  const save = (partMax = 100): void => {
    const number = file.length + 1
    const part = waiting.unsaved(partMax)
    file.push({ number, names: part.writes.map(({ values }) => String(values[0])) })
    waiting.saved(number, part)
  }
  const names = (count: number) => waiting.part(0, count).map(({ values }) => values[0])
  return { waiting, write, save, names, readCount: () => readCount }
}

describe('writes that wait for the database', () => {
  it('come back from the file in their order, with what is to be done after them', () => {
    const { waiting, write, save, names } = bench()
    const done: string[] = []
    waiting.takeBack([write('former')], 7)
    waiting.add(
      write('a', () => done.push('a')),
      false,
    )
    waiting.add(write('b'), false)
    save()
    save() // of hearings only
    waiting.add(
      write('c', () => done.push('c')),
      false,
    )
    save()
    waiting.add(write('d'), false)
    expect(waiting).toMatchObject({ count: 5, takenCount: 7, unsavedCount: 1 })
    expect(waiting.unsaved(9).firstWrite).toBe(11)
    expect(names(1)).toEqual(['former'])
    expect(names(9)).toEqual(['former', 'a', 'b', 'c', 'd'])
    for (const one of waiting.part(0, 2)) one.done?.()
    waiting.taken(2)
    expect(done).toEqual(['a'])
    expect(names(9)).toEqual(['b', 'c', 'd'])
    save()
    expect(names(9)).toEqual(['b', 'c', 'd'])
    for (const one of waiting.part(0, 9)) one.done?.()
    expect(done).toEqual(['a', 'c'])
    waiting.taken(3)
    expect(waiting).toMatchObject({ count: 0, takenCount: 12, unsavedCount: 0 })
  })

  it('a step reads no more of the file than it takes', () => {
    const { waiting, write, save, names, readCount } = bench()
    for (let record = 0; record < 10; record++) {
      for (let count = 0; count < 5; count++) waiting.add(write(`${record}.${count}`), false)
      save()
    }
    expect(names(10)).toEqual([
      '0.0',
      '0.1',
      '0.2',
      '0.3',
      '0.4',
      '1.0',
      '1.1',
      '1.2',
      '1.3',
      '1.4',
    ])
    expect(readCount()).toBe(2)
    waiting.taken(3)
    expect(names(2)).toEqual(['0.3', '0.4'])
    expect(readCount()).toBe(3)
    expect(names(3)).toEqual(['0.3', '0.4', '1.0'])
    waiting.taken(46)
    expect(names(9)).toEqual(['9.4'])
  })

  it('go into the file in parts, the oldest first', () => {
    const { waiting, write, save, names } = bench()
    for (const name of ['a', 'b', 'c', 'd', 'e']) waiting.add(write(name), false)
    for (const call of ['Q1', 'Q2', 'Q3'])
      waiting.addHearing({ call, atWallMs: 0, radio: 0, via: [] })
    save(2)
    expect(waiting.unsavedCount).toBe(3)
    expect(waiting.unsaved(9)).toMatchObject({ firstWrite: 2, hearings: [{ call: 'Q3' }] })
    waiting.add(write('f'), false)
    save(3)
    save(3)
    expect(waiting).toMatchObject({ unsavedCount: 0, hasHearings: false, count: 6 })
    expect(names(9)).toEqual(['a', 'b', 'c', 'd', 'e', 'f'])
  })

  it('the oldest makes room, wherever it is', () => {
    const { waiting, write, save, names } = bench(3)
    for (const name of ['a', 'b']) waiting.add(write(name), false)
    save()
    waiting.add(write('c'), false)
    expect(waiting.add(write('d'), true)).toBe(false)
    expect(waiting.add(write('d'), false)).toBe(false)
    expect(names(9)).toEqual(['b', 'c', 'd'])
    expect(waiting.takenCount).toBe(1)
  })
})

describe('a gathering file that cannot be read again', () => {
  it('is said and counted; what comes after it is kept', () => {
    const file = temporaryFile()
    const { store, clock, faults } = openTestStore(file)
    for (let count = 0; count < 5; count++)
      store.events.add({ atWallMs: clock.wallMs(), kind: 'heard', text: String(count) })
    store.flush()
    truncateSync(gatherFileOf(file), 0)
    expect(store.events.query()).toEqual([])
    expect(faults.map(({ message }) => message).join()).toContain('reading what was heard')
    expect(store.state()).toMatchObject({ pendingCount: 0, counters: { droppedCount: 5 } })
    store.events.add({ atWallMs: clock.wallMs(), kind: 'heard', text: 'after' })
    expect(store.events.query().map(({ text }) => text)).toEqual(['after'])
    store.close()
    const { store: again } = openTestStore(file)
    expect(again.events.query().map(({ text }) => text)).toEqual(['after'])
    again.close()
  })
})
