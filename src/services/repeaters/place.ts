import { parseLocator } from '../../aprs/locator.js'
import { parseAngle } from '../data/figures.js'
import type { Rejected } from '../data/rejected.js'
import type { GeoPosition } from '../service.js'
import { type HeaderSides, underSide } from './headerSide.js'
import type { RepeaterField } from './headers.js'
import { hemispheres, type MeaningOfO } from './hemispheres.js'
import type { RepeaterRow } from './row.js'

const expected: Readonly<Partial<Record<RepeaterField, string>>> = {
  latitude: 'degrees from -90 to 90',
  longitude: 'degrees from -180 to 180',
  locator: 'a locator of 4, 6 or 8 characters',
  position: 'latitude and longitude, or a locator of 6 characters',
}

/** What the list as a whole tells of its places. */
export interface PlaceKnowledge {
  readonly meaningOfO: MeaningOfO
  readonly sides: HeaderSides
  /** some figures have a minus sign, though the header names a side */
  readonly hasMinus: { readonly latitude: boolean; readonly longitude: boolean }
}

/** Where the repeater of a row is, by its latitude and longitude, else by its locator; both must not contradict each other. */
export function readPlace(row: RepeaterRow, list: PlaceKnowledge): GeoPosition | 'none' | Rejected {
  const o = list.meaningOfO
  const isUnclear = (field: RepeaterField): boolean =>
    (o === 'unknown' && /\bO$|^O\b/i.test(row.cell(field))) || list.sides.longitude === 'unclear'
  const wrong = (field: RepeaterField): Rejected =>
    row.wrong(
      field,
      field === 'longitude' && row.cell(field) !== '' && isUnclear(field)
        ? 'E or W in place of O, which means east in some languages and west in others'
        : expected[field]!,
    )
  const locatorText = row.cell('locator').replace(/ /g, '')
  const cell = locatorText.length >= 4 ? locatorCell(locatorText) : undefined
  if (row.cell('latitude') !== '' || row.cell('longitude') !== '') {
    const latitudeDeg = angleOf(row, 'latitude', 'northSouth', list)
    if (latitudeDeg === undefined) return wrong('latitude')
    const longitudeDeg = angleOf(row, 'longitude', 'eastWest', list)
    if (longitudeDeg === undefined) return wrong('longitude')
    return agreeing(row, { latitudeDeg, longitudeDeg }, cell)
  }
  if (row.cell('position') !== '') {
    const position = parsePosition(row, list)
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
  list: PlaceKnowledge,
): number | undefined {
  const text = row.cell(field)
  const sideText = row.cell(side)
  const joined = sideText === '' ? text : `${text} ${sideText}`
  return sidedAngle(row, field, joined, field, list)
}

/** An angle with the side that its own words name, else its header. */
function sidedAngle(
  row: RepeaterRow,
  field: 'latitude' | 'longitude' | 'position',
  text: string,
  angle: 'latitude' | 'longitude',
  list: PlaceKnowledge,
): number | undefined {
  const letters = angle === 'latitude' ? 'NS' : 'EW'
  const lettered = hemisphereLetters(text, letters, list.meaningOfO)
  if (lettered === undefined) return undefined
  const side = list.sides[angle]
  const found = underSide(lettered, side)
  switch (found.kind) {
    case 'asItStands':
      return parseAngle(lettered, letters)
    case 'unclear':
      return undefined
    case 'contradicts':
      row.warn(field, `its header says ${side}: taken as ${found.own}, please look`)
      return parseAngle(lettered, letters)
    case 'turned':
      if (list.hasMinus[angle])
        row.warn(field, `no minus sign, though others have one: taken as ${side} by its header`)
      return parseAngle(found.text, letters)
  }
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
function parsePosition(row: RepeaterRow, list: PlaceKnowledge): GeoPosition | undefined {
  const bare = row.cell('position').replace(/^[(["]+|[)\]"]+$/g, '')
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
  const latitudeDeg = sidedAngle(row, 'position', halves[1]!, 'latitude', list)
  const longitudeDeg = sidedAngle(row, 'position', halves[2]!, 'longitude', list)
  return latitudeDeg === undefined || longitudeDeg === undefined
    ? undefined
    : { latitudeDeg, longitudeDeg }
}
