import { describe, expect, it } from 'vitest'
import { askLimits } from '../../src/node/askLimits.js'
import { copies } from '../../src/node/copies.js'
import { emergencyTurns } from '../../src/node/emergencyTurns.js'
import { createGps } from '../../src/node/gps.js'
import { promptFor } from '../../src/node/mailMessages.js'
import { messageNumber } from '../../src/node/messageNumber.js'
import { radioJournal } from '../../src/node/radioJournal.js'
import { rateLimit } from '../../src/node/rateLimit.js'
import { gapsFor, resubmitMs, retryAfter } from '../../src/node/retry.js'
import { type QueuedFrame, sendQueue } from '../../src/node/sendQueue.js'
import { viaTable } from '../../src/node/viaTable.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { Understanding } from '../../src/services/asking/understanding.js'
import { boardService, postService } from '../../src/services/board.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { inEnglish } from '../../src/words/air/all.js'
import { echoService, type TestNodeOptions, testNode } from '../node/testNode.js'

/** Each limit of the node at n, and one beyond it. */

const services = [echoService, leaveService, collectService, boardService, postService]
const nodeWith = (options: TestNodeOptions['options'] = {}) => testNode({ services, options })
type Node = ReturnType<typeof nodeWith>

/** What the node sends to a question that wants no acknowledgement of its answer. */
async function answerTo(node: Node, text: string, from = 'N0CALL-7'): Promise<string> {
  node.sentTexts()
  node.ask(from, text)
  await node.wait(3)
  return node.sentTexts().join('\n')
}

const minuteMs = 60_000
const hourMs = 60 * minuteMs

describe('what is acted on', () => {
  it('a frame repaired by one bit, not by two', async () => {
    const node = nodeWith()
    const heard = async (repairedBits: number): Promise<number> => {
      node.hear(`N0CALL-7>APZ001::N0DE-10  :echo ${repairedBits}`, repairedBits)
      await node.wait(3)
      return node.sentTexts().length
    }
    expect([await heard(1), await heard(2)]).toEqual([1, 0])
  })

  it('two layers of third-party headers, not three', async () => {
    const node = nodeWith()
    const wrapped = (depth: number, text: string): string =>
      depth === 0 ? text : `}Q1AB-${depth}>APZ001,Q1TCP*:${wrapped(depth - 1, text)}`
    const heard = async (depth: number): Promise<number> => {
      node.hear(`N0CALL-7>APZ001:${wrapped(depth, `:N0DE-10  :echo ${depth}`)}`)
      await node.wait(3)
      return node.sentTexts().length
    }
    expect([await heard(2), await heard(3)]).toEqual([1, 0])
  })
})

describe('rates', () => {
  it('a window counts what is younger than it', () => {
    const limit = rateLimit(1000)
    limit.note('a', 0)
    expect([limit.count('a', 999), limit.count('a', 1000)]).toEqual([1, 0])
  })

  it('names are remembered up to 5,000', () => {
    const limit = rateLimit(1000)
    for (let name = 0; name < 5_000; name++) limit.note(`${name}`, 0)
    expect(limit.count('0', 0)).toBe(1)
    limit.note('one more', 0)
    expect([limit.count('0', 0), limit.count('1', 0)]).toEqual([0, 1])
  })

  it('twelve questions of a station are asked, the thirteenth is refused', () => {
    const limits = askLimits(virtualClock(), defaultNodeOptions())
    for (let asked = 0; asked < 11; asked++) limits.noteAsked('Q1')
    expect(limits.refusalOf('Q1')).toBeUndefined()
    limits.noteAsked('Q1')
    expect(limits.refusalOf('Q1')?.how).toBe('reject')
  })

  it('three greetings of a station are answered in an hour, and twelve guesses', () => {
    const clock = virtualClock()
    const limits = askLimits(clock, defaultNodeOptions())
    const greeted = [1, 2, 3, 4].map(
      () => limits.refusalOfMeaning('Q1', { kind: 'greeting', sort: 'hello' })?.how,
    )
    expect(greeted).toEqual([undefined, undefined, undefined, 'silence'])
    clock.advanceBy(hourMs - 1)
    expect(limits.refusalOfMeaning('Q1', { kind: 'greeting', sort: 'hello' })).toBeDefined()
    const guessed = { kind: 'service', manner: 'guessed' } as unknown as Understanding
    for (let count = 0; count < 12; count++)
      expect(limits.refusalOfMeaning('Q1', guessed)).toBeUndefined()
    expect(limits.refusalOfMeaning('Q1', guessed)?.how).toBe('reject')
  })

  it('two queries to everybody are answered in the window', async () => {
    const node = nodeWith({ position: { latitudeDeg: 45, longitudeDeg: -36 } })
    for (const station of [1, 2, 3]) node.hear(`Q1ABC-${station}>APZ001:?APRS?`)
    await node.wait(120)
    const reasons = node.events.map(({ reason }) => reason)
    expect(reasons.filter((reason) => reason === 'rate limit of queries')).toHaveLength(1)
  })

  it('ten calls for help are answered at once, the eleventh in turn; after ten minutes again', () => {
    const clock = virtualClock()
    const turns = emergencyTurns(clock)
    const first = Array.from({ length: 10 }, (_, index) => turns.turnOf(`Q${index}`))
    expect(new Set(first)).toEqual(new Set(['at once']))
    expect(turns.turnOf('Q10')).toBe('in turn')
    clock.advanceBy(10 * minuteMs - 1)
    expect(turns.turnOf('Q10')).toBe('in turn')
    clock.advanceBy(1)
    expect(turns.turnOf('Q10')).toBe('at once')
  })

  it('a station that was answered is not answered again within ten minutes', () => {
    const clock = virtualClock()
    const turns = emergencyTurns(clock)
    turns.noteAnswered('Q1')
    clock.advanceBy(10 * minuteMs - 1)
    expect(turns.turnOf('Q1')).toBe('not again')
    clock.advanceBy(1)
    expect(turns.turnOf('Q1')).toBe('at once')
  })

  it('calls that are no messages are answered three times in six hours', () => {
    const clock = virtualClock()
    const turns = emergencyTurns(clock)
    for (let count = 0; count < 3; count++) {
      expect(turns.refusalOfUnasked('Q1')).toBeUndefined()
      clock.advanceBy(10 * minuteMs)
    }
    clock.advanceBy(6 * hourMs - 30 * minuteMs - 1)
    expect(turns.refusalOfUnasked('Q1')).toMatch(/3 times/)
    clock.advanceBy(1)
    expect(turns.refusalOfUnasked('Q1')).toBeUndefined()
  })

  it('six calls of a station are marked, and sixty in all', async () => {
    const marked = (node: Node): number =>
      node.events.filter(({ kind, station }) => kind === 'emergency' && station).length
    const one = nodeWith()
    for (let count = 0; count < 8; count++) one.hear(`Q1ABC>APZ001:>EMERGENCY ${count}`)
    expect(marked(one)).toBe(6)
    const many = nodeWith()
    for (let count = 0; count < 62; count++) many.hear(`Q${count}AB>APZ001:>EMERGENCY`)
    expect(marked(many)).toBe(60)
  })

  it('twenty events of a radio are listed in an hour, and one that says that there are more', () => {
    const clock = virtualClock()
    const listed: string[] = []
    const add = (one: { reason: string }) => void listed.push(one.reason)
    const store = { events: { add } }
    const take = radioJournal(store as never, clock)
    const event = { kind: 'hold', radio: 0, reason: 'why', atWallMs: 0 } as never
    for (let count = 0; count < 20; count++) take('r', event)
    expect(listed).toHaveLength(20)
    take('r', event)
    take('r', event)
    expect(listed.slice(20)).toEqual([expect.stringMatching(/no more of it is listed/)])
    clock.advanceBy(hourMs - 1)
    take('r', event)
    expect(listed).toHaveLength(21)
    clock.advanceBy(1)
    take('r', event)
    expect(listed.slice(21)).toEqual(['3 more of these in an hour, not listed', 'why'])
  })
})

describe('copies', () => {
  it('are copies up to the end of their window', () => {
    const seen = copies(1000)
    seen.note('a', '', 0)
    expect(seen.note('a', '', 1000)).toBeDefined()
    expect(seen.note('a', '', 1001)).toBeUndefined()
  })

  it('2,000 are remembered', () => {
    const seen = copies(1000)
    for (let key = 0; key <= 1_999; key++) seen.note(`${key}`, '', 0)
    expect(seen.note('0', '', 0)).toBeDefined()
    seen.note('one more', '', 0)
    expect(seen.note('0', '', 0)).toBeUndefined()
  })

  it.each([
    ['without a number: 28 s', 'echo hi', 28],
    ['with a number: 15 minutes', 'echo hi{1', 900],
  ])('of a question %s', async (_, text, windowS) => {
    const askedAgain = async (afterS: number): Promise<number> => {
      const node = nodeWith({ answers: { gapsMs: [] } })
      node.ask('N0CALL-7', text)
      await node.wait(afterS)
      node.ask('N0CALL-7', text)
      return node.store.questions.recent(9).length
    }
    expect([await askedAgain(windowS), await askedAgain(windowS + 0.001)]).toEqual([1, 2])
  })

  it('a path back is the shortest of 28 s, of 2,000 stations', () => {
    const table = viaTable()
    const heard = (from: string, ...via: string[]) => ({ from, via }) as never
    table.note(heard('Q1'), 0)
    table.note(heard('Q1', 'DIGI'), 27_999)
    expect(table.find('Q1')).toEqual([])
    table.note(heard('Q1', 'DIGI'), 28_000)
    expect(table.find('Q1')).toEqual(['DIGI'])
    for (let station = 2; station <= 2_000; station++) table.note(heard(`Q${station}`), 0)
    expect(table.find('Q1')).toBeDefined()
    table.note(heard('one more'), 0)
    expect([table.find('Q1'), table.find('Q2')]).toEqual([undefined, []])
  })
})

describe('answers', () => {
  it('are repeated once a gap, then given up', () => {
    const nextAfter = (attempts: number): string =>
      retryAfter(attempts, { gapsMs: [1, 2, 3], jitter: 0 }, () => 0.5).next
    expect([nextAfter(3), nextAfter(4)]).toEqual(['send', 'give up'])
  })

  it('that only say that something went wrong are repeated once, replies to calls for help twice', () => {
    const gaps = [1, 2, 3, 4]
    expect(gapsFor('error', gaps)).toEqual([1])
    expect(gapsFor('emergency', gaps)).toEqual([1, 2])
    expect(gapsFor('answer', gaps)).toEqual(gaps)
  })

  it('a refused frame is tried again after 5 s, 10 s, and an hour at last', () => {
    expect([1, 2, 10, 11, 40].map(resubmitMs)).toEqual([
      ...[5_000, 10_000, 2_560_000],
      ...[3_600_000, 3_600_000],
    ])
  })

  it.each([1, 2])('%i may be unacknowledged at a time', async (window) => {
    const node = nodeWith({ answers: { window } })
    const given = await answerTo(node, 'echo a/b/c{1')
    expect(given.match(/:[abc]\{/g)).toHaveLength(window)
  })

  it('are of no use after their time', async () => {
    const node = nodeWith({ answers: { notAfterMs: 20_000 } })
    await answerTo(node, 'echo hi{1')
    const answer = node.port.sent.find(({ line }) => line.includes(':hi'))
    expect(answer?.request.notAfterMs).toBe(20_000)
  })

  it('500 frames wait for a radio', () => {
    const queue = sendQueue<QueuedFrame>(2)
    const frame = (id: string): QueuedFrame => ({
      ...{ id, priority: 'answer', turn: 0, sinceMs: 0, notAfterMs: 1000 },
      ...{ octets: new Uint8Array(), followingOctets: 0 },
    })
    expect([queue.add(frame('a')), queue.add(frame('b'))]).toEqual([undefined, undefined])
    expect(queue.add(frame('c'))?.id).toBe('c')
    expect([queue.takeExpired(999).length, queue.takeExpired(1000).length]).toEqual([0, 2])
  })

  it('numbers begin anew after ZZ, and after 99999', () => {
    expect([messageNumber(1_295, true), messageNumber(1_296, true)]).toEqual(['ZZ', '00'])
    expect([messageNumber(99_899, false), messageNumber(99_900, false)]).toEqual(['99999', '100'])
  })
})

describe('acknowledgements of a question that is heard again', () => {
  const acknowledged = async (afterS: number, path: string): Promise<number[]> => {
    const node = nodeWith({ answers: { gapsMs: [] } })
    node.ask('N0CALL-7', 'echo hi{1', ',WIDE1-1')
    await node.wait(afterS)
    node.ask('N0CALL-7', 'echo hi{1', path)
    await node.wait(60)
    return node.port.sent.filter(({ line }) => line.endsWith(':ack1')).map(({ atS }) => atS)
  }

  it('within 8 s another way is a digipeater: later; after that a repetition: at once', async () => {
    expect((await acknowledged(8, ',DIGI1*'))[1]).toBeGreaterThan(30)
    expect((await acknowledged(8.001, ',DIGI1*'))[1]).toBeLessThan(9)
  })

  it('a repetition within 4 s of our acknowledgement was sent before that was heard', async () => {
    // the acknowledgement goes out after 0.5 s
    expect((await acknowledged(4.499, ',WIDE1-1'))[1]).toBeGreaterThan(30)
    expect((await acknowledged(4.5, ',WIDE1-1'))[1]).toBeLessThan(6)
  })
})

describe('mailbox and board', () => {
  const left = async (limits: object, texts: readonly string[]): Promise<string[]> => {
    const node = nodeWith({ mailbox: limits, answers: { gapsMs: [] } })
    const answers: string[] = []
    for (const text of texts) answers.push(await answerTo(node, text, text.split('|')[1] ?? 'Q1A'))
    return answers.map((answer) => (/Kept .* for/.test(answer) ? 'kept' : 'refused'))
  }

  it.each([
    ['of one sender', { perSender: 2 }],
    ['for one receiver', { perReceiver: 2 }],
    ['in all', { total: 2 }],
  ])('messages %s', async (_, limits) => {
    const texts = ['leave N0CALL-8 one', 'leave N0CALL-8 two', 'leave N0CALL-8 three']
    expect(await left(limits, texts)).toEqual(['kept', 'kept', 'refused'])
  })

  it('messages that were left expire when their time is over, not before', async () => {
    const expired = async (waitS: number): Promise<boolean> => {
      const node = nodeWith({ mailbox: { keepMs: hourMs } })
      node.ask('N0CALL-7', 'leave N0CALL-8 hello')
      await node.wait(waitS)
      return node.store.mailbox.recent(1)[0]?.state === 'expired'
    }
    // it is looked each minute
    expect([await expired(3_599), await expired(3_661)]).toEqual([false, true])
  })

  it('notices of one sender, and in all', async () => {
    const posted = async (limits: object): Promise<string[]> => {
      const node = nodeWith({ notices: limits })
      const answers: string[] = []
      for (const text of ['post one', 'post two', 'post three'])
        answers.push(await answerTo(node, text))
      return answers.map((answer) => (answer.includes(':On the board') ? 'kept' : 'refused'))
    }
    expect(await posted({ perSender: 2 })).toEqual(['kept', 'kept', 'refused'])
    expect(await posted({ total: 2 })).toEqual(['kept', 'kept', 'refused'])
  })

  /** Whether the receiver is told of it, or given it, each time it is heard: so long after it was heard before, ms. */
  async function heardAfter(
    node: Node,
    gapsMs: readonly number[],
    words: string,
  ): Promise<boolean[]> {
    const results: boolean[] = []
    for (const gapMs of gapsMs) {
      // what is sent needs half a second, which counts
      await node.wait(Math.max(0, gapMs - (results.length === 0 ? 0 : 600)) / 1000)
      const before = node.port.sent.length
      node.hear(`N0CALL-8>APZ001:>here ${results.length}`)
      await node.wait(0.6)
      results.push(node.port.sent.slice(before).some(({ line }) => line.includes(words)))
    }
    return results
  }

  it('a receiver is told so often, and not sooner than after a while', async () => {
    const told = async (gapsMs: readonly number[]): Promise<boolean[]> => {
      const node = nodeWith({
        ...{ mailbox: { promptEveryMs: hourMs, promptsMax: 2 }, answers: { gapsMs: [] } },
      })
      node.ask('N0CALL-7', 'leave N0CALL-8 hello')
      return heardAfter(node, gapsMs, '1 message waits')
    }
    expect(await told([1000, hourMs - 1])).toEqual([true, false])
    expect(await told([1000, hourMs, 2 * hourMs])).toEqual([true, true, false])
  })

  it('a receiver that was heard within ten minutes is told at once', async () => {
    const isTold = async (heardAgoS: number): Promise<boolean> => {
      const node = nodeWith()
      node.hear('N0CALL-8>APZ001:>here')
      await node.wait(heardAgoS)
      node.ask('N0CALL-7', 'leave N0CALL-8 hello')
      await node.wait(10)
      return node.sentTexts().some((text) => text.includes('1 message waits'))
    }
    expect([await isTold(599.999), await isTold(600)]).toEqual([true, false])
  })

  it('a message that carries mail ends after an hour', () => {
    const { createdWallMs, notAfterWallMs } = promptFor(
      'Q1',
      1,
      { number: '1', radio: 0, wallMs: 5_000 },
      inEnglish,
    )
    expect(notAfterWallMs - createdWallMs).toBe(hourMs)
  })

  it('what was tried in vain is tried again a quarter of an hour later', async () => {
    const carried = async (gapMs: number): Promise<boolean[]> => {
      const node = nodeWith({
        ...{ mailbox: { deliver: 'at-once' }, answers: { gapsMs: [], jitter: 0 } },
      })
      node.ask('N0CALL-7', 'leave N0CALL-8 hello')
      const [first] = await heardAfter(node, [1000], ':N0CALL-7: hello')
      // it is given up after half a minute or so: from then on the quarter of an hour counts
      await node.wait(100)
      const gaveUp = node.events.find(({ kind }) => kind === 'given up')!
      const waitMs = gapMs - (node.clock.wallMs() - gaveUp.atWallMs)
      const [again] = await heardAfter(node, [waitMs], ':N0CALL-7: hello')
      return [first!, again!]
    }
    expect(await carried(900_000 - 1)).toEqual([true, false])
    expect(await carried(900_000)).toEqual([true, true])
  })
})

describe('GPS', () => {
  const at = (time: string): string => {
    const body = `GPRMC,${time},A,4500.000,N,03600.000,W,0.0,0.0,010126,,,A`
    const sum = [...body].reduce((all, letter) => all ^ letter.charCodeAt(0), 0)
    return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`
  }

  it('a fix is good for 10 s, its time for 60 s', () => {
    const clock = virtualClock(Date.UTC(2026, 0, 1))
    const gps = createGps(clock)
    gps.line(at('000000.00'))
    clock.advanceBy(10_000)
    expect(gps.state().position).toBeDefined()
    clock.advanceBy(1)
    expect(gps.state().position).toBeUndefined()
    clock.advanceBy(49_999)
    expect(gps.state().clockBehindMs).toBe(0)
    clock.advanceBy(1)
    expect(gps.state().clockBehindMs).toBeUndefined()
  })

  it('a line has at most 120 characters', () => {
    const bad = (length: number): number => {
      const gps = createGps(virtualClock())
      gps.line(at(`000000.${'0'.repeat(length - at('000000.').length)}`))
      return gps.state().badLineCount
    }
    expect([bad(120), bad(121)]).toEqual([0, 1])
  })
})
