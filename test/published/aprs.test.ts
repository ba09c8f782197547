import { describe, expect, it } from 'vitest'
import { published } from './aprsExpectations.js'
import { byGroup } from './aprsGroups.js'
import { otherRows } from './aprsOtherRows.js'
import { positionRows } from './aprsPositionRows.js'

describe('published APRS pairs', () => {
  it('are all there', () => {
    expect(published.pairs).toHaveLength(published.pair_count as number)
    expect(published.pair_count).toBe(181)
  })

  for (const pair of published.pairs) {
    it(`${pair.id} (${pair.source}, ${pair.status}): ${JSON.stringify(pair.info ?? pair.dest)}`, () => {
      const handler = positionRows[pair.id] ?? otherRows[pair.id] ?? byGroup[pair.group]
      if (handler === undefined) throw new Error(`no check for group ${pair.group}`)
      handler(pair)
    })
  }
})
