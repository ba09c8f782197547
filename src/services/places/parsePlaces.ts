import { parseLocator } from '../../aprs/locator.js'
import { findColumns } from '../data/columns.js'
import { type CsvRow, readCsvTable } from '../data/csvTable.js'
import { parseAngle } from '../data/figures.js'
import { type Loaded, quoted, type Rejected, rejectedList } from '../data/rejected.js'
import type { GeoPosition } from '../service.js'

/** A place that people name: a town, a hut, a postal code. */
export interface NamedPlace extends GeoPosition {
  readonly name: string
  /** what else it is called: other languages, a short form, its postal code */
  readonly otherNames: readonly string[]
}

export type PlacesResult =
  | ({ readonly ok: true } & Loaded<NamedPlace>)
  | { readonly ok: false; readonly got: string; readonly expected: string }

/** Header texts, folded as foldHeader does. */
const fields = {
  name: [
    'name',
    'place',
    'town',
    'ort',
    'ortsname',
    'lieu',
    'nom',
    'lugar',
    'nombre',
    'luogo',
    'nome',
  ],
  otherNames: [
    'othernames',
    'aliases',
    'alias',
    'names',
    'andere',
    'autresnoms',
    'otros',
    'altrinomi',
  ],
  code: [
    'code',
    'postalcode',
    'postcode',
    'zip',
    'plz',
    'postleitzahl',
    'codepostal',
    'codigopostal',
    'cap',
  ],
  latitude: ['latitude', 'lat', 'breite', 'breitengrad', 'latitud', 'latitudine'],
  longitude: ['longitude', 'lon', 'lng', 'long', 'lange', 'langengrad', 'longitud', 'longitudine'],
  locator: ['locator', 'grid', 'gridsquare', 'maidenhead', 'localisateur'],
} as const satisfies Record<string, readonly string[]>
type PlaceField = keyof typeof fields
type Columns = Readonly<Partial<Record<PlaceField, number>>>

const placesMax = 200_000

/** Reads a list of places: name and position, or name and locator; other names with '/' or ';' between them. Rows that are wrong are named. */
export function parsePlaces(text: string): PlacesResult {
  const table = readCsvTable(text)
  const found = findColumns<PlaceField>(table.header, fields)
  const columns = found.ok ? found.columns : {}
  const hasPosition =
    columns.locator !== undefined ||
    (columns.latitude !== undefined && columns.longitude !== undefined)
  if (columns.name === undefined || !hasPosition) {
    const header = table.header.map(quoted).join(', ')
    const got = header === '' ? 'an empty file' : `the columns ${header}`
    return { ok: false, got, expected: 'columns name, latitude and longitude (or locator)' }
  }
  const rejected = rejectedList()
  for (const one of table.rejected) rejected.add(one)
  const entries: NamedPlace[] = []
  for (const row of table.rows) {
    const place = readRow(row, columns)
    if ('expected' in place) rejected.add(place)
    else if (entries.length < placesMax) entries.push(place)
    else rejected.add({ line: row.line, got: 'one more row', expected: `${placesMax} at most` })
  }
  return { ok: true, entries, rejected: rejected.list, rejectedCount: rejected.count }
}

function readRow({ line, cells }: CsvRow, columns: Columns): NamedPlace | Rejected {
  const cell = (field: PlaceField): string => cells[columns[field] ?? -1]?.trim() ?? ''
  const name = cell('name')
  if (!/[\p{L}\p{N}]/u.test(name))
    return { line, field: 'name', got: quoted(name), expected: 'a name' }
  const otherNames = [...cell('otherNames').split(/[/;]/), cell('code')]
    .map((one) => one.trim())
    .filter((one) => one !== '')
  const locator = cell('locator')
  if (cell('latitude') === '' && locator !== '') {
    const centre = parseLocator(locator)?.centre
    if (centre === undefined)
      return { line, field: 'locator', got: quoted(locator), expected: 'a locator such as HN15pf' }
    return { name, otherNames, ...centre }
  }
  const latitudeDeg = parseAngle(cell('latitude'), 'NS')
  if (latitudeDeg === undefined)
    return { line, field: 'latitude', got: quoted(cell('latitude')), expected: '-90 to 90' }
  const longitudeDeg = parseAngle(cell('longitude'), 'EW')
  if (longitudeDeg === undefined)
    return { line, field: 'longitude', got: quoted(cell('longitude')), expected: '-180 to 180' }
  return { name, otherNames, latitudeDeg, longitudeDeg }
}
