// The test of the template: an answer is a plain value, so no radio, no node and no library is needed.
//   node --test samples/services/
import assert from 'node:assert/strict'
import { test } from 'node:test'
import tide from './tide.mjs'

const node = { call: 'N0CALL-10', position: { latitudeDeg: 45.5, longitudeDeg: -36.7 } }
const context = {
  node,
  askerPosition: undefined,
  // Far from the real thing, but good enough to tell near from far.
  way: (a, b) => ({
    distanceM: 111_000 * Math.hypot(a.latitudeDeg - b.latitudeDeg, a.longitudeDeg - b.longitudeDeg),
  }),
  wayWords: () => '4km NW',
}
const ask = (rest, more = {}) =>
  tide.answer({ from: 'N0CALL-7', rest, words: rest.split(' ') }, { ...context, ...more })

test('a place by the beginning of its name', () => {
  assert.equal(ask('salt'), 'Saltwick: high water 05:55 18:20')
})

test('without a place the nearest to the node, or to the asker when known', () => {
  assert.equal(ask(''), 'Coldwell, 4km NW: high water 05:40 18:05')
  const askerPosition = { latitudeDeg: 44.8, longitudeDeg: -36.7, ageMs: 0 }
  assert.match(ask('', { askerPosition }), /^Saltwick/)
})

test('an unknown place is answered with those that are known', () => {
  assert.match(ask('paris'), /^No tide for "paris"\. I know Coldwell/)
})

test('every answer fits one message', () => {
  for (const rest of ['', 'salt', 'cold', 'north']) assert.ok(ask(rest).length <= 67)
})
