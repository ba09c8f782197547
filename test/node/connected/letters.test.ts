import { describe, expect, it } from 'vitest'
import { type LetterOptions, letters } from '../../../src/node/connected/letters.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../../src/setup/defaultOptions.js'
import { inEnglish } from '../../../src/words/air/all.js'
import { openTestStore } from '../../store/openTestStore.js'
import { failingStore } from '../failingStore.js'

function kept(change: Partial<LetterOptions> = {}) {
  const clock = virtualClock(Date.UTC(2026, 5, 21))
  const { store: base } = openTestStore(':memory:', clock)
  const failing = new Set<string>()
  const store = failingStore(base, (doing) => failing.has(doing))
  const events: string[] = []
  const trust = { is: true }
  const one = letters({
    ...{ clock, store, nodeOptions: defaultNodeOptions({ call: 'N0DE-10' }) },
    clockTrust: {
      ...{ trusted: () => trust.is, confirmed: () => trust.is, gpsSays: () => {} },
      ...{ steps: { count: 0, lastMs: 0 }, wasAhead: () => {} },
    },
    note: (kind, text, { station = '', reference = '', reason = '' } = {}) =>
      events.push(`${kind} ${text} (${station} ${reference}: ${reason})`),
    options: { octetsMax: 100, perStation: 2, total: 3, keepMs: 5_000, ...change },
    wording: () => inEnglish,
  })
  const leave = (from = 'Q1KIT', to = 'Q1ABC', text = 'grün') =>
    one.leave({ from, to, subject: 'Walk', text })
  return { clock, store, failing, events, trust, one, leave }
}
const outOfOrder = 'Letters do not work here just now. Tell the operator.'

describe('a letter', () => {
  it('is kept for its time, and told to the log with its octets', () => {
    const { clock, store, events, one, leave } = kept()
    expect(leave()).toEqual({ ok: true, id: 1 })
    const leftWallMs = Date.UTC(2026, 5, 21)
    const letter = {
      ...{ id: 1, from: 'Q1KIT', to: 'Q1ABC', subject: 'Walk', text: 'grün', leftWallMs },
      ...{ expiresWallMs: leftWallMs + 5_000, expiryTrusted: true, shown: false },
      ...{ readWallMs: undefined, readBy: undefined },
    }
    expect(one.waitingFor('Q1ABC-3')).toEqual([letter])
    expect(one.find('Q1ABC', 1)).toEqual(letter)
    expect([one.find('Q1ABC', 2), one.find('Q1KIT', 1)]).toEqual([undefined, undefined])
    expect(events).toEqual(['left letter for Q1ABC: Walk (5 octets) (Q1KIT L1: )'])
    clock.advanceBy(5_001)
    expect([one.waitingFor('Q1ABC'), one.find('Q1ABC', 1)]).toEqual([[], undefined])
    expect(store.letters.count).toBe(1)
  })

  it('of a clock that is not right waits, whatever the time', () => {
    const { clock, trust, one, leave } = kept()
    leave('Q1KIT', 'Q1ABC')
    trust.is = false
    leave('Q2KIT', 'Q1ABC')
    clock.advanceBy(10_000)
    expect(one.waitingFor('Q1ABC').map(({ expiryTrusted }) => expiryTrusted)).toEqual([true, false])
    expect(one.find('Q1ABC', 1)?.id).toBe(1)
  })

  it('is refused beyond those of its sender, of its receiver, and of all', () => {
    const { one, leave } = kept()
    leave('Q1KIT', 'Q1ABC')
    leave('Q1KIT', 'Q2ABC')
    const mine = 'You have 2 letters here already: no more until one is erased.'
    expect(one.refusalOf('Q1KIT', 'Q3ABC')).toBe(mine)
    expect(leave('Q1KIT', 'Q3ABC')).toEqual({ ok: false, reason: mine })
    expect(one.refusalOf('Q2KIT', 'Q1ABC')).toBe(undefined)
    leave('Q2KIT', 'Q1ABC')
    expect(one.refusalOf('Q2KIT', 'Q1ABC')).toBe(
      'Q1ABC has 2 letters here: no more until one is erased.',
    )
    expect(one.refusalOf('Q2KIT', 'Q3ABC')).toBe('There is no room for more letters. Try later.')
  })

  it('is out of order where the database is', () => {
    const { store, failing, events, one, leave } = kept()
    failing.add('a letter')
    expect(leave()).toEqual({ ok: false, reason: outOfOrder })
    failing.clear()
    failing.add('the letters')
    expect(one.refusalOf('Q1KIT', 'Q1ABC')).toBe(outOfOrder)
    expect([one.waitingFor('Q1ABC'), one.find('Q1ABC', 1)]).toEqual([[], undefined])
    failing.clear()
    Object.defineProperty(store, 'degraded', { value: true })
    expect(leave()).toEqual({ ok: false, reason: outOfOrder })
    expect([events, store.letters.count]).toEqual([[], 0])
  })

  it('can be for any call sign but the own', () => {
    const { one } = kept()
    expect(['Q1ABC-7', 'N0DE-10', 'ALL'].map((call) => one.receiverOf(call))).toEqual([
      ...['Q1ABC-7', undefined, undefined],
    ])
    expect(one.octetsMax).toBe(100)
  })
})

describe('a letter that its receiver', () => {
  const first = (of: ReturnType<typeof kept>) => of.store.letters.find(1)!

  it('sees is noted before it is written, once', () => {
    const all = kept()
    all.leave()
    all.failing.add('what is shown over a connection')
    expect(all.one.showing(first(all))).toBe(false)
    all.failing.clear()
    expect(all.one.showing(first(all))).toBe(true)
    expect(first(all).shown).toBe(true)
    all.failing.add('what is shown over a connection')
    expect(all.one.showing(first(all))).toBe(true)
    expect(all.one.showing({ ...first(all), shown: false, readWallMs: 1 })).toBe(true)
  })

  it('has read is told to the log once it is on the disk, and once', () => {
    const all = kept()
    all.leave()
    all.events.length = 0
    all.failing.add('that a letter was read')
    all.one.read(first(all), 'Q1ABC-7')
    expect([first(all).readWallMs, all.events]).toEqual([undefined, []])
    all.failing.clear()
    all.clock.advanceBy(1_000)
    all.one.read(first(all), 'Q1ABC-7')
    expect(first(all)).toMatchObject({ readWallMs: all.clock.wallMs(), readBy: 'Q1ABC-7' })
    all.one.read(first(all), 'Q1ABC-8')
    expect(all.events).toEqual(['delivered letter from Q1KIT: Walk (Q1ABC-7 L1: )'])
    expect(first(all).readBy).toBe('Q1ABC-7')
  })

  it('erases is gone, where the disk takes that', () => {
    const all = kept()
    all.leave()
    all.failing.add('that a letter was erased')
    expect(all.one.remove(first(all), 'Q1ABC')).toBe(false)
    expect(all.store.letters.count).toBe(1)
    all.failing.clear()
    expect(all.one.remove(first(all), 'Q1ABC')).toBe(true)
    expect(all.store.letters.count).toBe(0)
  })
})
