// Carrier detect by its signs alone: which are busy, and for how long.
import { describe, expect, it } from 'vitest'
import { createCarrierDetect } from '../../../dsp/modem/carrierDetect.js'
import { seededRandom } from '../../../src/runtime/random.js'

describe('a modem signal', () => {
  it('is there above a coherence of 0.6, and until it is no more than 0.52', () => {
    const detect = createCarrierDetect({ onAnySignal: false })
    const busy = [0.55, 0.6, 0.601, 0.55, 0.521, 0.52, 0.55, 0.6, 0.9, 0].map((coherence) => {
      detect.note({ coherence, tonePower: 1 })
      return detect.busy
    })
    expect(busy).toEqual([false, false, true, true, true, false, false, false, true, false])
  })

  it('nothing is heard before the first symbol', () => {
    expect(createCarrierDetect({ onAnySignal: false }).busy).toBe(false)
    expect(createCarrierDetect({ onAnySignal: true }).busy).toBe(false)
  })
})

describe('any signal', () => {
  const listen = (onAnySignal = true) => {
    const detect = createCarrierDetect({ onAnySignal })
    const hear = (tonePower: number, symbols: number): boolean => {
      for (let symbol = 0; symbol < symbols; symbol++) detect.note({ coherence: 0.4, tonePower })
      return detect.busy
    }
    return hear
  }

  const settled = (onAnySignal = true) => {
    const hear = listen(onAnySignal)
    expect(hear(1, 100)).toBe(false)
    return hear
  }

  it('is not a level that has been there from the first symbol on', () => {
    const hear = listen()
    for (const symbols of [1, 1, 13, 1, 1, 100, 10_000, 100_000])
      expect(hear(1, symbols)).toBe(false)
  })

  it('nor is noise, whatever its first symbols are', () => {
    for (let seed = 1; seed <= 20; seed++) {
      const random = seededRandom(seed)
      const hear = listen()
      // Of one symbol it has an exponential distribution.
      const busy = Array.from({ length: 600 }, () => hear(-Math.log(1 - random()), 1))
      expect(busy).not.toContain(true)
    }
  })

  // Of 15 symbols no level is known yet; of 16 it is their mean, 1, and (15/16)^n brings 9 - 8 (15/16)^n beyond 4 as ever.
  it.each([
    [15, false],
    [16, true],
  ])('%i symbols are heard before it: the level rises from them: %s', (symbols, isSignal) => {
    const hear = listen()
    hear(1, symbols)
    expect(hear(100, 1)).toBe(isSignal)
  })

  // The mean of 16 symbols goes from 1 to 9 as 9 - 8 (15/16)^n: beyond 4 from n = 7.3 on.
  it('is busy from four times the floor on, by a mean of 16 symbols', () => {
    const hear = settled()
    expect(hear(9, 7)).toBe(false)
    expect(hear(9, 1)).toBe(true)
  })

  it('and not by what is less, however long it lasts', () => {
    expect(settled()(3.9, 5000)).toBe(false)
    expect(settled(false)(1000, 5000)).toBe(false)
  })

  // From 1 the floor comes to 9/4 after 36,000 ln(9/4) = 29,193 symbols.
  it('until the floor, which rises by a factor of e in 30 s, has come near', () => {
    const hear = settled()
    expect(hear(9, 29_100)).toBe(true)
    expect(hear(9, 200)).toBe(false)
  })

  // The mean falls from 1 to 0.1; then (15/16)^n is below a quarter from n = 21.5 on.
  it('from a floor that falls with the level', () => {
    const hear = settled()
    expect(hear(0.1, 200)).toBe(false)
    expect(hear(0.5, 21)).toBe(false)
    expect(hear(0.5, 1)).toBe(true)
  })

  // From nothing the floor comes to a quarter of 1e-9 in some 250 symbols: it grows by 1e-12 a symbol.
  it('after digital silence the quietest noise is no signal for long', () => {
    const hear = listen()
    expect(hear(0, 100)).toBe(false)
    expect(hear(1e-9, 200)).toBe(true)
    expect(hear(1e-9, 100)).toBe(false)
  })
})
