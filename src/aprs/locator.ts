/** Degrees, WGS84, north and east positive. */
interface Place {
  readonly latitudeDeg: number
  readonly longitudeDeg: number
}

/** Cells by pair of characters: 18 fields, then squares and so on by tens and 24ths in turn. */
const divisions = [18, 10, 24, 10] as const
const firstCharacters = ['A', '0', 'a', '0'] as const

/**
 * Maidenhead locator of a place. Within a pair longitude stands first: a field is 20 by 10 degrees, a square 2 by 1 degree,
 * a subsquare 5 by 2.5 minutes. The north pole and 180 degrees east belong to the last cell.
 * @param pairs 1 to 4: 3 gives six characters such as 'JN58td'
 * @see IARU locator system (from memory); checked in test/published/locator.test.ts
 */
export function locatorOf(position: Place, pairs: 1 | 2 | 3 | 4 = 3): string {
  const { longitudeCells, latitudeCells, cellCount } = cellsOf(position, pairs)
  let locator = ''
  let longitudeRest = longitudeCells
  let latitudeRest = latitudeCells
  let cells = cellCount
  for (let pair = 0; pair < pairs; pair++) {
    cells /= divisions[pair]!
    const first = firstCharacters[pair]!.charCodeAt(0)
    locator += String.fromCharCode(first + Math.floor(longitudeRest / cells))
    locator += String.fromCharCode(first + Math.floor(latitudeRest / cells))
    longitudeRest %= cells
    latitudeRest %= cells
  }
  return locator
}

/** The smallest cells counted from 180 west and from the south pole. */
function cellsOf(position: Place, pairs: number) {
  const cellCount = divisions.slice(0, pairs).reduce<number>((count, one) => count * one, 1)
  const cell = (share: number): number =>
    Math.min(cellCount - 1, Math.max(0, Math.floor(share * cellCount)))
  return {
    cellCount,
    longitudeCells: cell((position.longitudeDeg + 180) / 360),
    latitudeCells: cell((position.latitudeDeg + 90) / 180),
  }
}

export interface LocatorCell {
  readonly southWest: Place
  readonly centre: Place
  readonly heightDeg: number
  readonly widthDeg: number
}

/** The cell that a locator of 2, 4, 6 or 8 characters names, in any case; undefined for anything else. */
export function parseLocator(text: string): LocatorCell | undefined {
  if (!/^[a-r]{2}(\d{2}([a-x]{2}(\d{2})?)?)?$/i.test(text)) return undefined
  let widthDeg = 360
  let heightDeg = 180
  let west = -180
  let south = -90
  for (let pair = 0; pair * 2 < text.length; pair++) {
    widthDeg /= divisions[pair]!
    heightDeg /= divisions[pair]!
    const first = firstCharacters[pair]!.toLowerCase().charCodeAt(0)
    west += (text.toLowerCase().charCodeAt(2 * pair) - first) * widthDeg
    south += (text.toLowerCase().charCodeAt(2 * pair + 1) - first) * heightDeg
  }
  return {
    southWest: { latitudeDeg: south, longitudeDeg: west },
    centre: { latitudeDeg: south + heightDeg / 2, longitudeDeg: west + widthDeg / 2 },
    heightDeg,
    widthDeg,
  }
}
