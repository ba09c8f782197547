import { describe, expect, it } from 'vitest'
import { createCodeCheck, triesMax, triesWindowMs } from '../../src/control/codeCheck.js'
import { parseHoldDuration } from '../../src/control/controlCommand.js'
import { counterCode, timeCounter } from '../../src/control/oneTimeCode.js'
import { createStationHold } from '../../src/control/stationHold.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { boardService } from '../../src/services/board.js'
import { dispatch } from '../../src/services/dispatch.js'
import { isThere, referenceOf } from '../../src/services/geo/reference.js'
import { heardService } from '../../src/services/heard.js'
import { ownData } from '../../src/services/own/ownData.js'
import type { HeardStation, Service } from '../../src/services/service.js'
import { signalService } from '../../src/services/signal.js'
import { splitAnswer } from '../../src/services/splitAnswer.js'
import { answerOf, testContext, testQuestion } from '../services/testContext.js'

/** Each limit of the services, and of control by radio, at n, and one beyond it. */

const manyMessages: Service = {
  ...{ keyword: 'many', summary: '', usage: 'many N' },
  messagesMax: ({ words }) => Number(words[0] ?? 3),
  answer: () => Array.from({ length: 20 }, (_, index) => `part ${index}`),
}

describe('answers', () => {
  it('have three messages where nothing is said, ten at most', async () => {
    expect(splitAnswer(['a', 'b', 'c'])).toEqual(['a', 'b', 'c'])
    expect(splitAnswer(['a', 'b', 'c', 'd'])).toEqual(['a', 'b', 'c..'])
    const count = async (wanted: number): Promise<number> => {
      const asked = { id: 'q', from: 'Q1', text: `many ${wanted}` }
      return (await dispatch(asked, { services: [manyMessages] }, testContext())).messages.length
    }
    expect([await count(10), await count(11)]).toEqual([10, 10])
    expect(await count(9)).toBe(9)
  })

  it('a message may be kept to 3 characters at least, 67 at most', () => {
    const split = (charactersMax: number) => () => splitAnswer('abc', { charactersMax })
    expect(split(2)).toThrow(RangeError)
    expect(split(3)).not.toThrow()
    expect(split(67)).not.toThrow()
    expect(split(68)).toThrow(RangeError)
    expect(() => splitAnswer('a', { messagesMax: 0 })).toThrow(RangeError)
    expect(() => splitAnswer('a', { messagesMax: 1 })).not.toThrow()
  })
})

describe('the board', () => {
  it('shows three notices, or as many as were asked for, nine at most', async () => {
    const wanted: number[] = []
    const notices = {
      recent: (count: number) => {
        wanted.push(count)
        return []
      },
      post: () => ({ ok: true, keptMs: 86_400_000 }) as const,
    }
    for (const text of ['', '0', '1', '9', '10', 'x'])
      await answerOf(boardService, text, testContext({ notices }))
    expect(wanted).toEqual([3, 3, 1, 9, 9, 3])
    expect(boardService.messagesMax?.(testQuestion('10'))).toBe(9)
  })
})

const station = (call: string, more: Partial<HeardStation> = {}): HeardStation =>
  ({ call, lastHeardWallMs: 0, via: [], frameCount: 1, ...more }) as HeardStation

describe('stations', () => {
  it('ten are listed, besides the asker and the node', async () => {
    const all = ['N0CALL-7', 'N0CALL-10', ...Array.from({ length: 20 }, (_, at) => `Q${at}`)]
    const stations = {
      ...testContext().stations,
      recent: (count: number) => all.slice(0, count).map((call) => station(call)),
    }
    const [text] = await answerOf(
      heardService({ positionAgeMaxMs: 1 }),
      '',
      testContext({ stations }),
    )
    expect(text!.split(', ')).toHaveLength(10)
  })

  it('signals of five frames, of twelve hours', async () => {
    const clock = virtualClock(100 * 3_600_000)
    const quality = {
      ...{ levelDbfs: -20, toneBalanceDb: 0, toneOffsetHz: 0, symbolRateErrorPpm: 0 },
      ...{ ebN0Db: 20, eyeOpening: 1, clippedShare: 0, preambleFlags: 30 },
    }
    const measured = async (count: number, ageMs: number): Promise<string> => {
      const signals = (_: string, most: number) =>
        Array.from({ length: Math.min(count, most) }, () => ({
          ...{ quality, atWallMs: clock.wallMs() - ageMs },
        }))
      const stations = { ...testContext().stations, signals, find: () => station('N0CALL-7') }
      return (await answerOf(signalService, '', testContext({ stations, clock })))[0]!
    }
    expect(await measured(9, 0)).toMatch(/^Last 5 frames:/)
    expect(await measured(1, 12 * 3_600_000)).toMatch(/^Last 1, 12h ago:/)
    expect(await measured(1, 12 * 3_600_000 + 1)).toMatch(/^Nothing was measured/)
  })

  const of = (ageMs: number, ageMaxMs: number) =>
    referenceOf(
      testContext({ askerPosition: { latitudeDeg: 45, longitudeDeg: -36, ageMs } }),
      ageMaxMs,
    )

  it("an asker's position counts up to its age, and is said to be old from half an hour on", () => {
    expect([of(1000, 1000)?.of, of(1001, 1000)?.of]).toEqual(['asker', 'node'])
    expect(of(30 * 60_000 - 1, 1e9)?.words).toBe('of you')
    expect(of(30 * 60_000, 1e9)?.words).toBe('of you 30min ago')
  })

  it('what is nearer than 20 m is there', () => {
    const way = (distanceM: number) => isThere({ distanceM } as never)
    expect([way(19.999), way(20)]).toEqual([true, false])
  })
})

describe('what own services keep', () => {
  it('has 1000 keys of 100 characters, values of 20,000, half a million in all', () => {
    const full = (entries: [string, string][]) => ownData(Object.fromEntries(entries)).data
    const keys = (count: number) =>
      full(Array.from({ length: count }, (_, index) => [`k${index}`, '1']))
    expect(() => keys(999).set('more', 1)).not.toThrow()
    expect(() => keys(1000).set('more', 1)).toThrow(/1000 keys/)
    expect(() => keys(1000).set('k0', 2)).not.toThrow()
    expect(() => full([]).set('k'.repeat(100), 1)).not.toThrow()
    expect(() => full([]).set('k'.repeat(101), 1)).toThrow(/1 to 100/)
    // the quotation marks of JSON count
    expect(() => full([]).set('k', 'x'.repeat(19_998))).not.toThrow()
    expect(() => full([]).set('k', 'x'.repeat(19_999))).toThrow(/20001 characters/)
    const with500kBut = (count: number) => full([['k', 'x'.repeat(499_999 - count)]])
    expect(() => with500kBut(2).set('a', 1)).not.toThrow()
    expect(() => with500kBut(1).set('a', 1)).toThrow(/500000 characters/)
    expect(() => with500kBut(0).set('k', 1)).not.toThrow()
  })
})

describe('control by radio', () => {
  const secret = new Uint8Array(20).fill(7)
  const check = (goesBy: 'counter' | 'clock', wallMs?: number) => {
    const book = {
      of: () => [{ call: 'Q1', goesBy, secret, counter: 0 }],
      keepCounter: () => true,
    }
    return createCodeCheck({ book, window: 20, trustedWallMs: () => wallMs })
  }

  it('nineteen codes may be skipped, not twenty', () => {
    const good = (at: number) =>
      check('counter').judge('Q1', counterCode(secret, at, 6), false, 0).ok
    expect([good(19), good(20)]).toEqual([true, false])
  })

  it('five wrong codes lock release for a quarter of an hour', () => {
    const isGood = (wrong: number, ms: number): boolean => {
      const judge = check('counter')
      for (let at = 0; at < wrong; at++) judge.judge('Q1', '000000', false, 0)
      return judge.judge('Q1', counterCode(secret, 0, 6), false, ms).ok
    }
    expect([triesMax, triesWindowMs]).toEqual([5, 900_000])
    expect([isGood(4, 0), isGood(5, 0), isGood(5, 899_999), isGood(5, 900_000)]).toEqual([
      ...[true, false, false, true],
    ])
  })

  it('a code by the clock is good one step of 30 s either way', () => {
    const good = (offMs: number): boolean => {
      const nowMs = 100 * 30_000
      const code = counterCode(secret, timeCounter(nowMs + offMs), 6)
      return check('clock', nowMs).judge('Q1', code, false, 0).ok
    }
    expect([good(-30_001), good(-30_000), good(59_999), good(60_000)]).toEqual([
      ...[false, true, true, false],
    ])
  })

  it('a hold lasts a week at most, and begins 8 s later', () => {
    expect([parseHoldDuration('7d'), parseHoldDuration('8d')]).toEqual([604_800_000, undefined])
    expect([parseHoldDuration('168h'), parseHoldDuration('169h')]).toEqual([604_800_000, undefined])
    expect([parseHoldDuration('0m'), parseHoldDuration('1m')]).toEqual([undefined, 60_000])
    const clock = virtualClock()
    let held = false
    const hold = createStationHold({
      ...{ clock, kept: undefined, keep: () => true, release: () => {} },
      hold: () => {
        held = true
      },
    })
    hold.begin('Q1', undefined)
    clock.advanceBy(7_999)
    expect(held).toBe(false)
    clock.advanceBy(1)
    expect(held).toBe(true)
  })
})
