import { lettersWrong, wrongLettersMax } from '../asking/distance.js'
import { foldSpelled } from '../asking/fold.js'
import { tokensOf } from '../asking/tokens.js'
import { type NearestIndex, nearestIndex } from '../geo/nearest.js'
import type { NamedPlace } from './parsePlaces.js'

/** Places that can be found by what people call them. */
export interface PlaceIndex {
  /** the place that the longest part of the words names, from the first of them on */
  find(
    words: readonly string[],
  ): { readonly place: NamedPlace; readonly length: number } | undefined
  readonly near: NearestIndex<NamedPlace>
}

/** Words of the longest name that is looked for. */
const wordsMax = 6

/** Of places with one name the first is found. */
export function placeIndex(places: readonly NamedPlace[]): PlaceIndex {
  const byName = new Map<string, NamedPlace>()
  for (const place of places)
    for (const name of [place.name, ...place.otherNames])
      for (const form of [folded(name), folded(foldSpelled(name))])
        if (form !== '' && !byName.has(form)) byName.set(form, place)

  const nearly = (text: string): NamedPlace | undefined => {
    const limit = wrongLettersMax(text)
    if (limit === 0) return undefined
    const found = new Set<NamedPlace>()
    for (const [name, place] of byName)
      if (!/\d/.test(name) && lettersWrong(name, text, limit) <= limit) found.add(place)
    return found.size === 1 ? [...found][0] : undefined
  }
  return {
    find(words) {
      const lengths = Math.min(words.length, wordsMax)
      const names = Array.from({ length: lengths }, (_, at) =>
        folded(words.slice(0, lengths - at).join(' ')),
      )
      for (const lookUp of [(name: string) => byName.get(name), nearly])
        for (const [at, name] of names.entries()) {
          const place = lookUp(name)
          if (place !== undefined) return { place, length: lengths - at }
        }
      return undefined
    },
    near: nearestIndex(places, (place) => place),
  }
}

const folded = (text: string): string =>
  tokensOf(text)
    .map((token) => token.folded)
    .join(' ')
