import { expect, it } from 'vitest'
import { setNewest } from '../../src/runtime/setNewest.js'

it('beyond the limit the oldest is forgotten; what is set again is the newest', () => {
  const map = new Map<string, number>()
  for (const [index, key] of ['a', 'b', 'c', 'a'].entries()) setNewest(map, key, index, 3)
  expect([...map]).toEqual([
    ['b', 1],
    ['c', 2],
    ['a', 3],
  ])
  setNewest(map, 'd', 4, 3)
  expect([...map.keys()]).toEqual(['c', 'a', 'd'])
})

it('a limit that became smaller holds at the next one', () => {
  const map = new Map(Object.entries({ a: 0, b: 1, c: 2 }))
  setNewest(map, 'd', 3, 2)
  expect([...map.keys()]).toEqual(['c', 'd'])
})
