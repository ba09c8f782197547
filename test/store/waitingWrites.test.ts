import { truncateSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { GatheredWrite } from '../../src/store/gatheredWrites.js'
import { gatherFileOf } from '../../src/store/gatherFile.js'
import type { SavedFrom } from '../../src/store/savedWrites.js'
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
  const waiting = waitingWrites(countMax, ({ recordNumber, takenCount }: SavedFrom) => {
    readCount++
    const names = file.filter(({ number }) => number >= recordNumber).flatMap((one) => one.names)
    return names.slice(takenCount).map((name) => write(name))
  })
  const save = (): void => {
    const number = file.length + 1
    file.push({ number, names: waiting.unsaved.writes.map(({ values }) => String(values[0])) })
    waiting.saved(number)
  }
  const names = (count: number) => waiting.first(count).map(({ values }) => values[0])
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
    expect(waiting).toMatchObject({ count: 5, takenCount: 7, hasUnsaved: true })
    expect(waiting.unsaved.firstWrite).toBe(11)
    expect(names(1)).toEqual(['former'])
    expect(names(9)).toEqual(['former', 'a', 'b', 'c', 'd'])
    for (const one of waiting.first(2)) one.done?.()
    waiting.taken(2)
    expect(done).toEqual(['a'])
    expect(names(9)).toEqual(['b', 'c', 'd'])
    save()
    expect(names(9)).toEqual(['b', 'c', 'd'])
    for (const one of waiting.first(9)) one.done?.()
    expect(done).toEqual(['a', 'c'])
    waiting.taken(3)
    expect(waiting).toMatchObject({ count: 0, takenCount: 12, hasUnsaved: false })
  })

  it('the file is read once for all steps in which the database takes it', () => {
    const { waiting, write, save, names, readCount } = bench()
    for (let count = 0; count < 50; count++) waiting.add(write(String(count)), false)
    save()
    for (let step = 0; step < 5; step++) {
      expect(names(10)).toHaveLength(10)
      waiting.taken(10)
    }
    expect(readCount()).toBe(1)
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
