import { describe, expect, it } from 'vitest'
import {
  type ControlSecret,
  createCodeCheck,
  triesMax,
  triesWindowMs,
} from '../../src/control/codeCheck.js'
import { counterCode, timeCounter } from '../../src/control/oneTimeCode.js'

const secret = new TextEncoder().encode('12345678901234567890')
const code = (counter: number): string => counterCode(secret, counter, 8)
const wrong = '00000000'

interface BenchOptions {
  readonly readOnly?: boolean
  readonly wallMs?: number
  readonly goesBy?: ControlSecret['goesBy']
}

function bench(options: BenchOptions = {}) {
  let kept: ControlSecret = {
    call: 'Q1OPS',
    goesBy: options.goesBy ?? 'counter',
    secret,
    counter: 0,
  }
  const book = {
    of: (call: string) => (call === kept.call ? [kept] : []),
    keepCounter(_secret: ControlSecret, counter: number) {
      if (options.readOnly) return false
      kept = { ...kept, counter }
      return true
    },
  }
  const start = () => createCodeCheck({ book, window: 20, trustedWallMs: () => options.wallMs })
  const enrolAnew = (another: Uint8Array): void => {
    kept = { ...kept, secret: another, counter: 0 }
  }
  return { start, enrolAnew, counter: () => kept.counter }
}

describe('codes of control operators', () => {
  it('are good once, also after a restart', () => {
    const { start, counter } = bench()
    expect(start().judge('Q1OPS', code(0), false, 0)).toEqual({ ok: true })
    expect(counter()).toBe(1)
    const again = start()
    expect(again.judge('Q1OPS', code(0), false, 0).ok).toBe(false)
    expect(again.judge('Q1OPS', code(1), false, 0).ok).toBe(true)
  })

  it('of a call that is enrolled anew begin at 0, while the station runs', () => {
    const { start, enrolAnew } = bench()
    const check = start()
    expect(check.judge('Q1OPS', code(10), false, 0).ok).toBe(true)
    const another = new TextEncoder().encode('abcdefghijklmnopqrst')
    enrolAnew(another)
    expect(check.judge('Q1OPS', code(11), false, 0).ok).toBe(false)
    expect(check.judge('Q1OPS', counterCode(another, 0, 8), false, 0).ok).toBe(true)
    expect(check.judge('Q1OPS', counterCode(another, 0, 8), false, 0).ok).toBe(false)
  })

  it('can be looked at without being used', () => {
    const { start, counter } = bench()
    const check = start()
    for (let at = 0; at < 2 * triesMax; at++) expect(check.isGood('Q1OPS', wrong)).toBe(false)
    expect(check.isGood('Q1NOT', code(0))).toBe(false)
    expect(check.isGood('Q1OPS', code(0))).toBe(true)
    expect(counter()).toBe(0)
    expect(check.judge('Q1OPS', code(0), false, 0).ok).toBe(true)
    expect(check.isGood('Q1OPS', code(0))).toBe(false)
  })

  it('may be skipped, up to the window', () => {
    const { start } = bench()
    const check = start()
    expect(check.judge('Q1OPS', code(20), false, 0).ok).toBe(false)
    expect(check.judge('Q1OPS', code(19), false, 0).ok).toBe(true)
    // what was skipped is spent
    expect(check.judge('Q1OPS', code(18), false, 0).ok).toBe(false)
  })

  it('of another call are none', () => {
    expect(bench().start().judge('Q1NOT', code(0), false, 0).ok).toBe(false)
  })

  it('that are wrong lock out release for a while, never hold', () => {
    const check = bench().start()
    for (let at = 0; at < triesMax; at++) check.judge('Q1OPS', wrong, at % 2 === 0, at)
    expect(check.judge('Q1OPS', code(0), false, triesWindowMs - 1).ok).toBe(false)
    expect(check.judge('Q1OPS', code(0), true, triesWindowMs - 1).ok).toBe(true)
    expect(check.judge('Q1OPS', code(1), false, triesWindowMs + triesMax).ok).toBe(true)
  })

  it('one wrong code fewer than the limit locks nothing', () => {
    const check = bench().start()
    for (let at = 0; at < triesMax - 1; at++) check.judge('Q1OPS', wrong, false, 0)
    expect(check.judge('Q1OPS', code(0), false, 0).ok).toBe(true)
  })

  it('a flood of wrong ones leaves a right one for hold, and a lock that ends', () => {
    const check = bench().start()
    for (let at = 0; at < 2_000; at++) check.judge('Q1OPS', wrong, true, at)
    expect(check.judge('Q1OPS', code(3), true, 2_000).ok).toBe(true)
    expect(check.judge('Q1OPS', code(4), false, 2_000 + triesWindowMs).ok).toBe(true)
  })

  it('on a disk that takes nothing stop the station once, and release nothing', () => {
    const check = bench({ readOnly: true }).start()
    expect(check.judge('Q1OPS', code(0), true, 0).ok).toBe(true)
    expect(check.judge('Q1OPS', code(0), true, 0).ok).toBe(false)
    expect(check.judge('Q1OPS', code(1), false, 0).ok).toBe(false)
  })

  it('go by the counter whatever the clock says', () => {
    for (const wallMs of [0, 1e12, 4e12, -1e12])
      expect(bench({ wallMs }).start().judge('Q1OPS', code(5), false, 0).ok).toBe(true)
  })

  it('by the clock are taken where it is trusted, once', () => {
    const wallMs = 1_900_000_015_000
    const step = timeCounter(wallMs)
    const { start } = bench({ wallMs, goesBy: 'clock' })
    const check = start()
    expect(check.judge('Q1OPS', code(step - 2), false, 0).ok).toBe(false)
    expect(check.judge('Q1OPS', code(step), false, 0).ok).toBe(true)
    expect(check.judge('Q1OPS', code(step), false, 0).ok).toBe(false)
    expect(check.judge('Q1OPS', code(step - 1), false, 0).ok).toBe(false)
    expect(check.judge('Q1OPS', code(step + 2), false, 0).ok).toBe(false)
    expect(start().judge('Q1OPS', code(step + 1), false, 0).ok).toBe(true)
    expect(bench({ goesBy: 'clock' }).start().judge('Q1OPS', code(step), true, 0).ok).toBe(false)
  })
})
