import { describe, expect, it } from 'vitest'
import { tally } from '../../src/node/tally.js'

describe('a tally', () => {
  it('counts by what and why, figures aside, the most frequent first', () => {
    const counts = tally()
    counts.note('sent', undefined)
    for (const figure of [12, 7, 300]) counts.note('refused', `more than ${figure} of 10`)
    counts.note('expired', 'too late')
    counts.note('refused', 'too late')
    counts.note('refused', 'too late')
    expect(counts.endings).toEqual([
      { what: 'refused', reason: 'more than N of N', count: 3 },
      { what: 'refused', reason: 'too late', count: 2 },
      { what: 'sent', reason: '', count: 1 },
      { what: 'expired', reason: 'too late', count: 1 },
    ])
  })

  it('tells 50 apart where nothing else is said', () => {
    const counts = tally()
    const name = (index: number): string => 'x'.repeat(index + 1)
    for (let index = 0; index < 51; index++) counts.note('refused', name(index))
    expect(counts.endings).toHaveLength(51)
    expect(counts.endings.at(-1)).toEqual({ what: 'refused', reason: 'other reasons', count: 1 })
  })

  it('counts what comes beyond that as other reasons, and goes on counting what it knows', () => {
    const counts = tally(2)
    for (const reason of ['a', 'b', 'c', 'd', 'a', 'a', 'a']) counts.note('refused', reason)
    counts.note('expired', 'a')
    expect(counts.endings).toEqual([
      { what: 'refused', reason: 'a', count: 4 },
      { what: 'refused', reason: 'other reasons', count: 2 },
      { what: 'refused', reason: 'b', count: 1 },
      { what: 'expired', reason: 'other reasons', count: 1 },
    ])
  })
})
