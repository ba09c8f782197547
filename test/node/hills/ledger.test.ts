import { describe, expect, it } from 'vitest'
import type { HillRow } from '../../../src/store/hills.js'
import {
  type Bench,
  type BenchChange,
  dayMs,
  leaveLetter,
  leaveMail,
  ledgerBench,
  letterOptions,
  minuteMs,
  own,
  peer,
  putRow,
  stateOf,
} from './ledgerBench.js'

function start(change: BenchChange = {}) {
  const bench = ledgerBench({ letters: letterOptions, ...change })
  return { bench, ledger: bench.make() }
}

const id = 'Q2BBB.ABCDEFGHJK'
/** What is not of the node's own news. */
const others = (bench: Bench) => bench.rows().filter(({ kind }) => kind !== 'directory')

describe('the way to a station', () => {
  const made = (heardMinutesAgo = 0, node = peer) => {
    const made = start()
    const { clock } = made.bench
    clock.advanceBy(10 * dayMs)
    made.ledger.known.take(node, 'stations', `Q4RCV ${heardMinutesAgo}`, clock.wallMs())
    made.ledger.routes.learn([node], clock.monotonicMs())
    return made
  }
  const hear = ({ store, clock }: Bench, agoMs: number) =>
    store.stations.add({ call: 'Q4RCV', atWallMs: clock.wallMs() - agoMs, radio: 0, via: [] })

  it('is by the neighbour that leads to the node that heard it, and had nothing of it', () => {
    const { ledger } = made()
    expect(ledger.nextFor('Q4RCV', [])).toBe(peer)
    expect(ledger.nextFor('Q4RCV', [peer])).toBeUndefined()
    expect(ledger.nextFor('Q5NIL', [])).toBeUndefined()
  })

  it('is none where no way to that node is known, or it is this node', () => {
    const { bench, ledger } = start()
    ledger.known.take(peer, 'stations', 'Q4RCV 0', bench.clock.wallMs())
    expect(ledger.nextFor('Q4RCV', [])).toBeUndefined()
    ledger.known.take(own, 'stations', 'Q5LAP 0', bench.clock.wallMs())
    ledger.routes.learn([peer], 0)
    expect(ledger.nextFor('Q4RCV', [])).toBe(peer)
    expect(ledger.nextFor('Q5LAP', [])).toBeUndefined()
  })

  it('is known for three days, and not of a time to come', () => {
    expect(made(3 * 24 * 60).ledger.nextFor('Q4RCV', [])).toBe(peer)
    expect(made(3 * 24 * 60 + 1).ledger.nextFor('Q4RCV', [])).toBeUndefined()
    const { bench, ledger } = made()
    bench.state.wallOffsetMs = -minuteMs
    expect(ledger.nextFor('Q4RCV', [])).toBeUndefined()
  })

  it.each([
    [10, 20, peer],
    [10, 20 - 1 / minuteMs, undefined],
    [10, 5, undefined],
    [10, 60, peer],
  ])('is none where it was heard here no ten minutes before: %d, %d', (there, here, next) => {
    const { bench, ledger } = made(there)
    hear(bench, here * minuteMs)
    expect(ledger.nextFor('Q4RCV', [])).toBe(next)
  })
})

describe('what ended here', () => {
  it.each(['delivered', 'refused', 'expired', 'withdrawn'] as const)(
    'a message that began here (%s) ends, and its sender is told by the mailbox alone',
    (end) => {
      const { bench, ledger } = start()
      leaveMail(bench)
      putRow(bench, { local: 'q1' })
      ledger.look()
      expect(stateOf(bench)).toBe('here')
      bench.durably(() => bench.store.mailbox.end(1, end, 0))
      ledger.look()
      expect(stateOf(bench)).toBe(`ended  ${end}`)
      expect([bench.messages, bench.notes]).toEqual([[], []])
    },
  )

  it('a message that came from another node: that is told', () => {
    const { bench, ledger } = start()
    leaveMail(bench)
    putRow(bench, { local: 'q1', trace: peer, cameFrom: peer })
    bench.durably(() => bench.store.mailbox.end(1, 'delivered', 0))
    ledger.look()
    expect(stateOf(bench)).toBe('ended  delivered')
    expect(bench.rows('report')).toMatchObject([{ text: `${id} delivered Q2BBB\nQ4RCV: hello` }])
    expect(bench.messages).toEqual([])
  })

  it('a message of which the mailbox knows nothing any more has expired', () => {
    const { bench, ledger } = start()
    putRow(bench, { local: 'q9' })
    ledger.look()
    expect(stateOf(bench)).toBe('ended  expired')
  })

  it('a letter that was read, or thrown away: its sender is told', () => {
    const { bench, ledger } = start()
    leaveLetter(bench)
    leaveLetter(bench)
    putRow(bench, { kind: 'letter', local: '1', entryId: 'Q1OWN.AAAAAAAAAA' })
    putRow(bench, { kind: 'letter', local: '2', entryId: 'Q1OWN.BBBBBBBBBB' })
    ledger.look()
    expect(stateOf(bench, 'Q1OWN.AAAAAAAAAA')).toBe('here')
    bench.durably(() => {
      bench.store.letters.setRead(1, 'Q4RCV', 0)
      bench.store.letters.remove(2)
    })
    ledger.look()
    expect(stateOf(bench, 'Q1OWN.AAAAAAAAAA')).toBe('ended  delivered')
    expect(stateOf(bench, 'Q1OWN.BBBBBBBBBB')).toBe('ended  refused')
    expect(bench.messages.map(({ text }) => text)).toEqual([
      ...['Your message to Q4RCV was delivered: hello'],
      'Your message to Q4RCV was refused by its radio: hello',
    ])
  })

  it('is not what waits, is under way, is with another node, or lies in nothing', () => {
    const { bench, ledger } = start()
    leaveMail(bench)
    leaveMail(bench, 'q2', { text: 'b' })
    leaveMail(bench, 'q3', { text: 'c' })
    bench.durably(() => {
      bench.store.mailbox.setSending(2, '7', 'Q4RCV')
      bench.store.mailbox.end(3, 'delivered', 0)
    })
    const changes: Partial<HillRow>[] = [
      { local: 'q1' },
      { local: 'q2' },
      { local: 'q3', state: 'handing', peer },
      { local: 'q3', state: 'handed', peer },
      {},
      { kind: 'notice', local: 'q3' },
    ]
    for (const [at, change] of changes.entries())
      putRow(bench, { ...change, entryId: `Q1OWN.AAAAAAAAA${'ABCDEF'[at]}` })
    ledger.look()
    expect(others(bench).map(({ state }) => state)).toEqual([
      ...['here', 'here', 'handing', 'handed', 'here', 'here'],
    ])
  })
})

describe('what is past its time', () => {
  const wallMs = ({ clock }: Bench) => clock.wallMs()

  it('ends: a notice out of sight, a message that is away as perhaps lost, at the moment', () => {
    const { bench, ledger } = start()
    const expiresWallMs = wallMs(bench) + minuteMs
    const notice = { questionId: `hill ${id}`, from: 'Q3SND', text: 'x', postedWallMs: 0 }
    bench.durably(() =>
      bench.store.notices.insert({ ...notice, expiresWallMs, expiryTrusted: false }),
    )
    putRow(bench, { kind: 'notice', expiresWallMs, local: `hill ${id}` })
    putRow(bench, { entryId: 'Q1OWN.AAAAAAAAAA', state: 'handed', peer, expiresWallMs })
    putRow(bench, { entryId: 'Q1OWN.BBBBBBBBBB', kind: 'report', peer, expiresWallMs })
    putRow(bench, { entryId: 'Q1OWN.CCCCCCCCCC', state: 'handing', peer, expiresWallMs })
    putRow(bench, { entryId: 'Q1OWN.DDDDDDDDDD', kind: 'letter', expiresWallMs })
    bench.clock.advanceBy(minuteMs - 1)
    ledger.look()
    expect(bench.store.hills.open().filter(({ kind }) => kind !== 'directory')).toHaveLength(5)
    bench.clock.advanceBy(1)
    ledger.look()
    const ends = ['notice expired', 'message unknown', 'report expired', 'message unknown']
    const ended = bench.rows().filter(({ state }) => state === 'ended')
    expect(ended.map(({ kind, outcome }) => `${kind} ${outcome}`)).toEqual([
      ...ends,
      'letter expired',
    ])
    expect(bench.store.notices.current(undefined, 9)).toEqual([])
    expect(bench.messages.map(({ text }) => text)).toEqual([
      ...['Your message to Q4RCV is perhaps lost: hello'],
      ...['Your message to Q4RCV is perhaps lost: hello'],
      'Your message to Q4RCV was not collected in time: hello',
    ])
  })

  it('is no message that lies here: the mailbox ends it', () => {
    const { bench, ledger } = start()
    leaveMail(bench)
    putRow(bench, { local: 'q1', expiresWallMs: 0 })
    ledger.look()
    expect(stateOf(bench)).toBe('here')
  })

  it('stays while the clock is not trusted, and gets its time when it is', () => {
    const { bench, ledger } = start()
    bench.state.isTrusted = false
    putRow(bench, { kind: 'notice', expiresWallMs: 0 })
    putRow(bench, { kind: 'notice', entryId: 'Q2BBB.AAAAAAAAAA', expiryTrusted: false })
    ledger.look()
    expect(stateOf(bench)).toBe('here')
    bench.state.isTrusted = true
    ledger.look()
    expect(stateOf(bench)).toBe('ended  expired')
    expect(bench.store.hills.find('Q2BBB.AAAAAAAAAA')).toMatchObject({
      ...{ state: 'here', expiryTrusted: true },
      expiresWallMs: wallMs(bench) + bench.parts.nodeOptions.mailbox.keepMs,
    })
  })

  it('is a hundred at once', () => {
    const { bench, ledger } = start()
    const name = (at: number) =>
      `Q2BBB.AAAAAAAA${'ABCDEFGHIJK'[Math.floor(at / 10)]}${'ABCDEFGHIJ'[at % 10]}`
    for (let at = 0; at < 101; at++)
      putRow(bench, { kind: 'notice', entryId: name(at), expiresWallMs: 0 })
    ledger.look()
    expect(others(bench).filter(({ state }) => state === 'ended')).toHaveLength(100)
    ledger.look()
    expect(others(bench).filter(({ state }) => state === 'ended')).toHaveLength(101)
  })

  it('waits no longer than may be after the clock was years ahead, once each time that it is set', () => {
    const { bench, ledger } = start()
    const far = wallMs(bench) + 900 * dayMs
    const { keepMs } = bench.parts.nodeOptions.mailbox
    const times = () => [
      bench.store.hills.find(id)!.expiresWallMs - wallMs(bench),
      bench.store.mailbox.find(1)!.expiresWallMs - wallMs(bench),
    ]
    const afar = () => {
      bench.durably(() => bench.store.hills.setPlace(id, far, undefined))
      bench.durably(() => bench.store.mailbox.end(1, 'delivered', 0))
    }
    leaveMail(bench, 'q1', { expiresWallMs: far })
    putRow(bench, { expiresWallMs: far })
    ledger.look()
    expect(times()).toEqual([keepMs + dayMs, keepMs])
    afar()
    ledger.look()
    expect(times()[0]).toBe(900 * dayMs)
    bench.state.steps = 1
    ledger.look()
    expect(times()[0]).toBe(keepMs + dayMs)
  })
})

describe('a database', () => {
  it('that fails ends nothing, tells nobody, and says what it was about', () => {
    const { bench, ledger } = start()
    leaveMail(bench)
    putRow(bench, { local: 'q1', trace: peer, cameFrom: peer })
    bench.durably(() => bench.store.mailbox.end(1, 'delivered', 0))
    putRow(bench, { entryId: 'Q1OWN.AAAAAAAAAA', expiresWallMs: 0, state: 'handed', peer })
    const before = bench.rows()
    const { durably } = bench.parts.store
    bench.parts.store.durably = (doing) => {
      bench.failed.push(doing)
      return { ok: false, failure: {} as never }
    }
    ledger.look()
    expect(bench.rows()).toEqual(before)
    expect([bench.messages, bench.notes]).toEqual([[], []])
    expect(bench.failed).toEqual([
      ...['what became of entries', 'times that lie too far ahead', 'entries past their time'],
      'entries for other nodes',
    ])
    expect(ledger.commit('this', () => {})).toBe(false)
    bench.parts.store.durably = durably
    expect(ledger.commit('this', () => {})).toBe(true)
    bench.state.isBroken = true
    bench.failed.length = 0
    ledger.look()
    expect(bench.failed).toEqual([
      ...['what ended', 'entries', 'times that lie too far ahead', 'entries'],
      'entries for other nodes',
    ])
  })

  it('tells nobody later what failed before', () => {
    const { bench, ledger } = start()
    const failing = () => {
      ledger.endings.tellSender({ from: 'Q3SND', to: 'Q4RCV', text: 'x' }, 'delivered')
      throw new Error('the disk')
    }
    expect(ledger.commit('this', failing)).toBe(false)
    ledger.commit('that', () => {})
    expect(bench.messages).toEqual([])
  })
})
