import { parseLocator } from '../../aprs/locator.js'
import { parseAngle } from '../data/figures.js'
import type { Rejected } from '../data/rejected.js'
import type { GeoPosition } from '../service.js'
import type { RepeaterField } from './headers.js'
import type { RepeaterRow } from './row.js'

/** What O stands for in this list: Ost in German, ouest, oeste, ovest elsewhere. */
export type MeaningOfO = 'E' | 'W' | 'unknown'

const expected: Readonly<Partial<Record<RepeaterField, string>>> = {
  latitude: 'degrees from -90 to 90',
  longitude: 'degrees from -180 to 180',
  locator: 'a locator of 4, 6 or 8 characters',
  position: 'latitude and longitude, or a locator of 6 characters',
}

/** Where the repeater of a row is, by its latitude and longitude, else by its locator; both must not contradict each other. */
export function readPlace(row: RepeaterRow, o: MeaningOfO): GeoPosition | 'none' | Rejected {
  const wrong = (field: RepeaterField): Rejected =>
    row.wrong(
      field,
      o === 'unknown' && field === 'longitude' && /\bO$|^O\b/i.test(row.cell(field))
        ? 'E or W in place of O, which means east in some languages and west in others'
        : expected[field]!,
    )
  const locatorText = row.cell('locator').replace(/ /g, '')
  const cell = locatorText.length >= 4 ? locatorCell(locatorText) : undefined
  if (row.cell('latitude') !== '' || row.cell('longitude') !== '') {
    const latitudeDeg = angleOf(row, 'latitude', 'northSouth', 'NS', o)
    if (latitudeDeg === undefined) return wrong('latitude')
    const longitudeDeg = angleOf(row, 'longitude', 'eastWest', 'EW', o)
    if (longitudeDeg === undefined) return wrong('longitude')
    return agreeing(row, { latitudeDeg, longitudeDeg }, cell)
  }
  if (row.cell('position') !== '') {
    const position = parsePosition(row.cell('position'), o)
    return position === undefined ? wrong('position') : agreeing(row, position, cell)
  }
  if (locatorText === '') return 'none'
  if (cell === undefined) return wrong('locator')
  if (locatorText.length < 6)
    row.warn('locator', 'only good to some 70 km, use one of six characters')
  return cell.centre
}

const locatorCell = (text: string) => parseLocator(text.length > 8 ? text.slice(0, 8) : text)

/** Positions are rounded, and locators are often those of the next village. */
const cellsOff = 2

function agreeing(
  row: RepeaterRow,
  position: GeoPosition,
  cell: ReturnType<typeof parseLocator>,
): GeoPosition | Rejected {
  if (cell === undefined) return position
  const { centre } = cell
  const turn = Math.abs(position.longitudeDeg - centre.longitudeDeg)
  const east = Math.min(turn, 360 - turn)
  const north = Math.abs(position.latitudeDeg - centre.latitudeDeg)
  const [heightDeg, widthDeg] = [
    Math.max(cell.heightDeg, 2.5 / 60),
    Math.max(cell.widthDeg, 5 / 60),
  ]
  if (north <= cellsOff * heightDeg && east <= cellsOff * widthDeg) return position
  return row.wrong('locator', 'a locator that agrees with latitude and longitude')
}

function angleOf(
  row: RepeaterRow,
  field: 'latitude' | 'longitude',
  side: 'northSouth' | 'eastWest',
  letters: 'NS' | 'EW',
  o: MeaningOfO,
): number | undefined {
  const text = row.cell(field)
  const sideText = row.cell(side)
  const joined = sideText === '' ? text : `${text} ${sideText}`
  const lettered = hemisphereLetters(joined, letters, o)
  return lettered === undefined ? undefined : parseAngle(lettered, letters)
}

const hemispheres: Readonly<Record<string, string>> = {
  north: 'N',
  nord: 'N',
  norte: 'N',
  noord: 'N',
  n: 'N',
  south: 'S',
  sued: 'S',
  süd: 'S',
  sud: 'S',
  sur: 'S',
  sul: 'S',
  zuid: 'S',
  s: 'S',
  east: 'E',
  ost: 'E',
  est: 'E',
  este: 'E',
  leste: 'E',
  oost: 'E',
  e: 'E',
  west: 'W',
  ouest: 'W',
  oeste: 'W',
  ovest: 'W',
  w: 'W',
}

/** One letter in place of a word for the side; undefined when O may mean either. */
function hemisphereLetters(text: string, letters: 'NS' | 'EW', o: MeaningOfO): string | undefined {
  let unclear = false
  const lettered = text.replace(/\p{L}+/gu, (word) => {
    const folded = word.toLowerCase()
    if (folded === 'o' && letters === 'EW') {
      if (o === 'unknown') unclear = true
      return o
    }
    return hemispheres[folded] ?? word
  })
  return unclear ? undefined : lettered
}

/** '45.25, -36.70', '45,25 -36,70', '45 12.5 N 36 48 W', 'N45.25 W36.70', or a locator. */
function parsePosition(text: string, o: MeaningOfO): GeoPosition | undefined {
  const bare = text.trim().replace(/^[(["]+|[)\]"]+$/g, '')
  const cell = /^[a-r]{2}\d{2}[a-x]{2}/i.test(bare)
    ? locatorCell(bare.replace(/ /g, ''))
    : undefined
  if (cell !== undefined) return cell.centre
  const halves =
    /^([^NS]*[\d'"′″°]\s*(?:N|S|Nord|Süd|Sud|Sur|Norte))[\s,;/]+(.*)$/i.exec(bare) ??
    /^((?:N|S)[^EWO]*?)[\s,;/]*([EWO].*)$/i.exec(bare) ??
    /^([^;/]*)[;/](.*)$/.exec(bare) ??
    /^(.*?),\s+(.*)$/.exec(bare) ??
    /^([^,]*),([^,]*)$/.exec(bare) ??
    /^(\S+)\s+(\S+)$/.exec(bare)
  if (halves === null) return undefined
  const latitude = hemisphereLetters(halves[1]!, 'NS', o)
  const longitude = hemisphereLetters(halves[2]!, 'EW', o)
  if (latitude === undefined || longitude === undefined) return undefined
  const latitudeDeg = parseAngle(latitude, 'NS')
  const longitudeDeg = parseAngle(longitude, 'EW')
  return latitudeDeg === undefined || longitudeDeg === undefined
    ? undefined
    : { latitudeDeg, longitudeDeg }
}
