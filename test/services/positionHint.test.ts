import { expect, it } from 'vitest'
import { referenceOf } from '../../src/services/geo/reference.js'
import { positionHint } from '../../src/services/positionHint.js'
import { testContext } from './testContext.js'

function world() {
  const kept = new Map<string, string>()
  const storage = {
    read: () => new Map(kept),
    write: (_: string, changes: ReadonlyMap<string, string | undefined>) => {
      for (const [key, value] of changes)
        if (value === undefined) kept.delete(key)
        else kept.set(key, value)
    },
  }
  const context = testContext({ storage })
  const hint = (from: string, isPlaceAsked = false) =>
    positionHint(referenceOf(context, 1000)!, isPlaceAsked, { from }, context)
  return { kept, context, hint }
}

it('is told once to each who asks without a position', () => {
  const { hint } = world()
  expect(hint('Q1KIT-9')).toBe('Your position is not known here: send one.')
  expect(hint('Q1KIT-9')).toBeUndefined()
  expect(hint('Q1KIT-8')).toMatch(/send one/)
})

it('is not told to who has a position, nor where a place was asked for', () => {
  const { hint, context } = world()
  expect(hint('Q1KIT-9', true)).toBeUndefined()
  const placed = { ...context, askerPosition: { latitudeDeg: 45, longitudeDeg: -36, ageMs: 0 } }
  expect(positionHint(referenceOf(placed, 1000)!, false, { from: 'Q1A' }, placed)).toBeUndefined()
})

it('remembers five hundred; who was told longest ago makes room', () => {
  const { hint, kept } = world()
  for (let number = 0; number < 505; number++) hint(`Q1A${number}`)
  expect(kept.size).toBe(500)
})
