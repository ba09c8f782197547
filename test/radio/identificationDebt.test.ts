import { describe, expect, it } from 'vitest'
import { createIdentificationDebt } from '../../src/radio/identification.js'

const options = { intervalMs: 540_000, quietMs: 20_000 }
const moments = (debt: ReturnType<typeof createIdentificationDebt>) => [
  ...[debt.owedSinceMs(), debt.dueAtMs(), debt.latestAtMs()],
]

describe('an identification', () => {
  it('is not owed before anything was sent, nor where our call went out last', () => {
    const debt = createIdentificationDebt(options)
    expect(moments(debt)).toEqual([undefined, undefined, undefined])
    debt.noteTransmission({ fromMs: 0, toMs: 1000 }, true)
    expect(moments(debt)).toEqual([undefined, undefined, undefined])
  })

  it('is owed since the first transmission without our call, and due when it has been quiet after the last', () => {
    const debt = createIdentificationDebt(options)
    debt.noteTransmission({ fromMs: 0, toMs: 1000 }, true)
    debt.noteTransmission({ fromMs: 5000, toMs: 6000 }, false)
    debt.noteTransmission({ fromMs: 8000, toMs: 9000 }, false)
    expect(moments(debt)).toEqual([5000, 29_000, 545_000])
    debt.noteTransmission({ fromMs: 30_000, toMs: 31_000 }, true)
    expect(moments(debt)).toEqual([undefined, undefined, undefined])
    debt.noteTransmission({ fromMs: 40_000, toMs: 41_000 }, false)
    expect(moments(debt)).toEqual([40_000, 61_000, 580_000])
  })

  it('that an earlier life left owed is due as if it had been quiet since then', () => {
    const debt = createIdentificationDebt(options, 1000)
    expect(moments(debt)).toEqual([1000, 21_000, 541_000])
  })
})
