import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { busiestShare, onAirAt } from '../../src/setup/onAir.js'
import type { Keying } from '../../src/store/keyings.js'

const keying = (atWallMs: number, durationMs: number): Keying => ({
  atWallMs,
  durationMs,
  radio: 0,
})

describe('the busiest window of what was sent', () => {
  it.each<[string, Keying[], number]>([
    ['nothing', [], 0],
    ['one', [keying(0, 50)], 0.05],
    ['all of it', [keying(0, 3000)], 1],
    ['two within it', [keying(0, 100), keying(800, 200)], 0.3],
    ['the first only in part', [keying(0, 200), keying(900, 200)], 0.3],
    ['far apart', [keying(0, 100), keying(5000, 300)], 0.3],
  ])('%s', (_, keyings, share) => {
    expect(busiestShare(keyings, 1000)).toBeCloseTo(share)
  })

  it('is what looking at each moment finds', () => {
    const lists = fc.array(
      fc.tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 1, max: 40 })),
      {
        maxLength: 12,
      },
    )
    fc.assert(
      fc.property(lists, fc.integer({ min: 5, max: 90 }), (steps, windowMs) => {
        let at = 0
        const keyings = steps.map(([gap, duration]) => {
          const one = keying(at + gap, duration)
          at = one.atWallMs + duration
          return one
        })
        const on = new Array<number>(at + windowMs + 1).fill(0)
        for (const { atWallMs, durationMs } of keyings) on.fill(1, atWallMs, atWallMs + durationMs)
        let most = 0
        for (let from = -windowMs; from <= at; from++)
          most = Math.max(
            most,
            on
              .slice(Math.max(0, from), Math.max(0, from + windowMs))
              .reduce((sum, one) => sum + one, 0),
          )
        expect(busiestShare(keyings, windowMs)).toBeCloseTo(most / windowMs)
      }),
    )
  })
})

describe('whether it was on', () => {
  const at = 10 * 3_600_000
  it('in that minute, before and after it, and around it', () => {
    const list = [at - 1_900_000, at - 60_000, at - 100, at + 59_999, at + 60_000, at + 1_700_000]
    const { during, before, after, around } = onAirAt(
      list.map((one) => keying(one, 500)),
      at,
    )
    expect(during.map(({ atWallMs }) => atWallMs - at)).toEqual([-100, 59_999])
    expect([before!.atWallMs - at, after!.atWallMs - at]).toEqual([-60_000, 60_000])
    expect(around).toHaveLength(5)
  })
})
