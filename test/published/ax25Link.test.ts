import { describe, expect, it } from 'vitest'
import { differences, differencesOf } from './ax25LinkDifferences.js'
import { type Outcome, published, walk } from './ax25LinkRows.js'

/*
 * ax25Link.json: AX.25 Link Access Protocol for Amateur Packet Radio, v2.2, revision 4 of October 2025: text, and figures C4.1 to
 * C4.7 as transcribed in the working repository of the standard.
 */

const merged = (outcome: Outcome, instead: Partial<Outcome>): Outcome => ({
  ...outcome,
  ...instead,
  marks: { ...outcome.marks, ...instead.marks },
})

for (const [state, rows] of Object.entries(published.states))
  describe(`figure of ${state}`, () => {
    for (const [index, row] of rows.entries())
      it(`${index + 1}. ${row.on}: ${row.path.join('; ')}`, () => {
        const { expected, found } = walk(state, row)
        const others = differencesOf(state, row)
        const wanted = others.reduce((outcome, one) => merged(outcome, one.instead), expected)
        expect(found).toEqual(wanted)
        // A difference that is none does not stay in the list.
        if (others.length > 0) expect(found).not.toEqual(expected)
      })
  })

it('has 243 transitions', () => {
  expect(Object.values(published.states).flat()).toHaveLength(243)
})

it('names only differences that a row has', () => {
  const used = Object.entries(published.states).flatMap(([state, rows]) =>
    rows.flatMap((row) => differencesOf(state, row)),
  )
  expect(differences.filter((one) => !used.includes(one))).toEqual([])
})
