import { afterEach, describe, expect, it } from 'vitest'
import type { NewLetter } from '../../src/store/letters.js'
import type { NoticeRecord } from '../../src/store/notices.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore } from './openTestStore.js'

let store: Store
afterEach(() => store.close())

const ids = (all: readonly { readonly id: number }[]) => all.map(({ id }) => id)

describe('letters', () => {
  const written: NewLetter = {
    ...{ from: 'Q7LAP', to: 'Q1ABC', subject: 'hut', text: 'one\ntwo', leftWallMs: 1_000 },
    ...{ expiresWallMs: 5_000, expiryTrusted: true },
  }
  function bench() {
    store = openTestStore().store
    const { letters } = store
    const write = (given: Partial<NewLetter> = {}) => letters.insert({ ...written, ...given })
    return { letters, write }
  }

  it('are kept with all that is known of them, read once, and removed', () => {
    const { letters, write } = bench()
    expect([write(), write({ expiryTrusted: false })]).toEqual([1, 2])
    const first = { ...written, id: 1, readWallMs: undefined, readBy: undefined, shown: false }
    expect([letters.find(1), letters.find(3)]).toEqual([first, undefined])
    letters.setShown(1)
    expect(letters.find(1)).toEqual({ ...first, shown: true })
    letters.setRead(1, 'Q1ABC-7', 2_000)
    letters.setRead(1, 'Q1ABC-8', 3_000)
    const read = { ...first, shown: true, readWallMs: 2_000, readBy: 'Q1ABC-7' }
    expect([letters.find(1), letters.find(2)?.readBy]).toEqual([read, undefined])
    expect(letters.find(2)).toMatchObject({ expiryTrusted: false, shown: false })
    expect(ids(letters.unread())).toEqual([2])
    letters.remove(1)
    expect([letters.find(1), letters.count]).toEqual([undefined, 1])
  })

  it('wait for a station or any SSID of its call, oldest first, until their time is over', () => {
    const { letters, write } = bench()
    write({ to: 'Q1ABC-7' })
    write({ to: 'Q1ABC-8' })
    write({ expiresWallMs: 4_000 })
    write({ expiresWallMs: 3_000, expiryTrusted: false })
    write({ to: 'Q2ABC' })
    expect(ids(letters.waitingFor('Q1ABC-7', 3_999))).toEqual([1, 3, 4])
    expect(ids(letters.waitingFor('Q1ABC-7', 4_000))).toEqual([1, 4])
    expect(ids(letters.waitingFor('Q1ABC-7', undefined))).toEqual([1, 3, 4])
    expect(ids(letters.waitingFor('Q1ABC', 9_000))).toEqual([4])
    expect([letters.untrustedCount, letters.trustExpiry(9_000, 9), letters.untrustedCount]).toEqual(
      [...[1, 1, 0]],
    )
    expect(letters.find(4)?.expiresWallMs).toBe(9_000)
  })

  it('are counted by their sender, and by their receiver', () => {
    const { letters, write } = bench()
    const counts = () => [letters.countFrom('Q7LAP'), letters.countFor('Q1ABC'), letters.count]
    expect(counts()).toEqual([0, 0, 0])
    write()
    write({ from: 'Q8LAP' })
    write({ from: 'Q8LAP' })
    write({ to: 'Q2ABC' })
    expect(counts()).toEqual([2, 3, 4])
  })
})

describe('notices', () => {
  const posted: Omit<NoticeRecord, 'id'> = {
    ...{ questionId: 'Q1', from: 'Q7LAP', text: 'road closed', postedWallMs: 1_000 },
    ...{ expiresWallMs: 5_000, expiryTrusted: true },
  }
  function bench() {
    store = openTestStore().store
    const { notices } = store
    const post = (questionId: string, given: Partial<NoticeRecord> = {}) =>
      notices.insert({ ...posted, questionId, ...given })
    return { notices, post }
  }

  it('are kept with all that is known of them, one of a question, until they are taken down', () => {
    const { notices, post } = bench()
    post('Q1')
    post('Q2', { expiryTrusted: false })
    post('Q1', { text: 'another' })
    expect(notices.current(undefined, 9)).toEqual([
      { ...posted, id: 2, questionId: 'Q2', expiryTrusted: false },
      { ...posted, id: 1 },
    ])
    expect([notices.hasQuestion('Q1'), notices.hasQuestion('Q3')]).toEqual([true, false])
    notices.remove('Q1')
    expect([notices.hasQuestion('Q1'), notices.hasQuestion('Q2')]).toEqual([false, true])
  })

  it('stand until their time is over, where that is trusted; the newest so many', () => {
    const { notices, post } = bench()
    post('Q1', { expiresWallMs: 4_000 })
    post('Q2', { expiresWallMs: 3_000, expiryTrusted: false })
    post('Q3', { from: 'Q8LAP' })
    const current = (wallMs: number | undefined, count = 9) =>
      notices.current(wallMs, count).map(({ questionId }) => questionId)
    expect([current(3_999), current(4_000), current(undefined)]).toEqual([
      ...[
        ['Q3', 'Q2', 'Q1'],
        ['Q3', 'Q2'],
        ['Q3', 'Q2', 'Q1'],
      ],
    ])
    expect(current(3_999, 1)).toEqual(['Q3'])
    const counts = [3_999, 4_000, undefined].map((wallMs) => notices.countFrom('Q7LAP', wallMs))
    expect([...counts, notices.countFrom('Q9NEW', 1)]).toEqual([2, 1, 2, 0])
    expect([notices.untrustedCount, notices.trustExpiry(3_500, 9), notices.untrustedCount]).toEqual(
      [...[1, 1, 0]],
    )
    expect(current(3_600)).toEqual(['Q3', 'Q1'])
  })
})
