import { describe, expect, it } from 'vitest'
import { beaconKinds } from '../../src/node/beaconOptions.js'
import { eventKinds } from '../../src/store/events.js'
import { de } from '../../src/web/page/words/de.js'
import { en } from '../../src/web/page/words/en.js'
import { fr } from '../../src/web/page/words/fr.js'

/** Each text by its dotted name; a function says something of its arguments. */
function texts(table: object, path = ''): Map<string, string> {
  const found = new Map<string, string>()
  for (const [key, value] of Object.entries(table)) {
    const name = path === '' ? key : `${path}.${key}`
    if (typeof value === 'object' && value !== null)
      for (const [inner, text] of texts(value, name)) found.set(inner, text)
    else found.set(name, typeof value === 'function' ? String(value(1, 2, 3, 4)) : String(value))
  }
  return found
}

/** What is the same word in both, or none: names, units, what the trade says everywhere. */
const units = ['station.signal', 'station.locator', 'time.seconds', 'time.minutes', 'time.hours']
const same: Readonly<Record<string, ReadonlySet<string>>> = {
  de: new Set([...units, 'station.status', 'log.station', 'hand.text']),
  fr: new Set([
    ...[...units, 'views.stations', 'views.conversations', 'station.distance', 'radioFilter'],
    ...['station.position', 'log.station', 'hand.beacons.position', 'hand.beacons.services'],
  ]),
}

describe.each([
  ['de', de],
  ['fr', fr],
] as const)('the page in %s', (language, words) => {
  it('has each text that it has in English, and no other', () => {
    expect([...texts(words).keys()].sort()).toEqual([...texts(en).keys()].sort())
  })

  it('leaves nothing in English', () => {
    const english = texts(en)
    const left = [...texts(words)].filter(
      ([name, text]) => text === english.get(name) && !same[language]!.has(name),
    )
    expect(left).toEqual([])
  })
})

it('there is a word for each kind of event that the page may show', () => {
  const known = Object.keys(en.kinds)
  expect(eventKinds.filter((kind) => !known.includes(kind))).toEqual([])
})

it('there is a word for each kind of beacon that the page may send', () => {
  const known = Object.keys(en.hand.beacons)
  expect(beaconKinds.filter((kind) => !known.includes(kind))).toEqual([])
})
