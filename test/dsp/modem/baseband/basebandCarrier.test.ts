import { describe, expect, it } from 'vitest'
import { createBasebandCarrier } from '../../../../dsp/modem/baseband/basebandCarrier.js'

describe('a signal of 9600 bit/s', () => {
  it('is there above a coherence of 0.55, and until it is no more than 0.38', () => {
    const carrier = createBasebandCarrier(false)
    const busy = [0.5, 0.55, 0.551, 0.4, 0.381, 0.38, 0.5, 0.55, 0.9, 0].map((coherence) => {
      carrier.note(new Float32Array(480), coherence)
      return carrier.busy
    })
    expect(busy).toEqual([false, false, true, true, true, false, false, false, true, false])
  })

  it('nothing is heard before the first samples', () => {
    expect(createBasebandCarrier(false).busy).toBe(false)
    expect(createBasebandCarrier(true).busy).toBe(false)
  })
})

describe('any signal', () => {
  /** Blocks of 10 ms, of some power. */
  const listen = (onAnySignal = true) => {
    const carrier = createBasebandCarrier(onAnySignal)
    return (power: number, blocks: number): boolean => {
      const samples = new Float32Array(480)
      samples.forEach((_, at) => {
        samples[at] = (at % 2 === 0 ? 1 : -1) * Math.sqrt(power)
      })
      for (let block = 0; block < blocks; block++) carrier.note(samples, 0.2)
      return carrier.busy
    }
  }

  const settled = (onAnySignal = true) => {
    const hear = listen(onAnySignal)
    expect(hear(1, 3)).toBe(false)
    return hear
  }

  // Of two blocks no level is known yet; of three it is their mean, and a third of 15 and two of 1 are beyond four times that.
  it.each([
    [2, false],
    [3, true],
  ])('%i blocks are heard before it: the level rises from them: %s', (blocks, isSignal) => {
    const hear = listen()
    hear(1, blocks)
    expect(hear(15, 1)).toBe(isSignal)
  })

  // The mean of three blocks goes from 1 to 9 as 9 - 8 (2/3)^n: 3.67, then 5.44.
  it('is busy from four times the floor on, by a mean of three blocks', () => {
    const hear = settled()
    expect(hear(9, 1)).toBe(false)
    expect(hear(9, 1)).toBe(true)
  })

  it('and not by what is less, however long it lasts', () => {
    expect(settled()(3.9, 500)).toBe(false)
    expect(settled(false)(1000, 500)).toBe(false)
  })

  // From 1 the floor comes to 9/4 after 3,000 ln(9/4) = 2,433 blocks.
  it('until the floor, which rises by a factor of e in 30 s, has come near', () => {
    const hear = settled()
    expect(hear(9, 2420)).toBe(true)
    expect(hear(9, 30)).toBe(false)
  })

  // From 0.1 to 0.5 as 0.5 - 0.4 (2/3)^n: 0.38 after three blocks, 0.42 after four.
  it('from a floor that falls with the level', () => {
    const hear = settled()
    expect(hear(0.1, 50)).toBe(false)
    expect(hear(0.5, 3)).toBe(false)
    expect(hear(0.5, 1)).toBe(true)
  })

  // From nothing the floor comes to a quarter of 1e-9 in some 240 blocks: it grows by 1e-12 a block.
  it('after digital silence the quietest noise is no signal for long', () => {
    const hear = listen()
    expect(hear(0, 10)).toBe(false)
    expect(hear(1e-9, 200)).toBe(true)
    expect(hear(1e-9, 100)).toBe(false)
  })

  it('no samples change nothing', () => {
    const carrier = createBasebandCarrier(true)
    for (let block = 0; block < 33; block++)
      carrier.note(new Float32Array(480).fill(block < 3 ? 1 : 3), 0.2)
    expect(carrier.busy).toBe(true)
    carrier.note(new Float32Array(0), 0.2)
    expect(carrier.busy).toBe(true)
  })
})
