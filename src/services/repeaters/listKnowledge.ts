import type { CsvRow } from '../data/csvTable.js'
import { type FrequencyUnit, parseFrequency, parseShift } from './frequency.js'
import { sidesOfHeader } from './headerSide.js'
import { type RepeaterField, viewpointOfHeaders, wordsOfHeader } from './headers.js'
import type { MeaningOfO } from './hemispheres.js'
import type { PlaceKnowledge } from './place.js'
import type { ListKnowledge } from './rowShift.js'
import type { Viewpoint } from './rowTone.js'
import { signOfPart } from './usualShift.js'

type Columns = Readonly<Partial<Record<RepeaterField, number>>>

const disagreeingShare = 0.25
/** More rows tell nothing new of a list as a whole. */
const rowsLookedAt = 5000

/** What only the list as a whole can tell. */
export function knowledgeOf(
  rows: readonly CsvRow[],
  columns: Columns,
  units: ListKnowledge['units'],
  header: readonly string[],
): ListKnowledge & { readonly places: PlaceKnowledge; readonly toneViewpoint: Viewpoint } {
  const cells = (field: RepeaterField): string[] => {
    const at = columns[field]
    if (at === undefined) return []
    return rows.slice(0, rowsLookedAt).map((row) => (row.cells[at] ?? '').trim())
  }
  const viewpoint = viewpointOf(cells, columns, units)
  return {
    viewpoint,
    // Who is meant beside the frequencies is meant beside the tones, too.
    toneViewpoint:
      viewpoint === 'unknown'
        ? viewpointOfHeaders([columns.output, columns.input].map((at) => header[at ?? -1] ?? ''))
        : viewpoint,
    hasSigns: [...cells('offset'), ...cells('input')].some((text) =>
      /^[-−–]\s*\d|\d\s*-$/.test(text),
    ),
    units,
    places: placesOf(cells, columns, header),
  }
}

type Cells = (field: RepeaterField) => string[]

function placesOf(cells: Cells, columns: Columns, header: readonly string[]): PlaceKnowledge {
  const o = meaningOfO(
    [...cells('longitude'), ...cells('eastWest'), ...cells('position')],
    header.map(wordsOfHeader).join(' '),
  )
  const sidesUnder = (field: RepeaterField) => sidesOfHeader(header[columns[field] ?? -1] ?? '', o)
  const hasMinus = (field: RepeaterField): boolean =>
    cells(field).some((text) => /^[-−–]\s*[\d.,]*[1-9]/.test(text))
  const { latitude } = sidesUnder(columns.latitude === undefined ? 'position' : 'latitude')
  const { longitude } = sidesUnder(columns.longitude === undefined ? 'position' : 'longitude')
  return {
    meaningOfO: o,
    sides: {
      ...(latitude === undefined ? {} : { latitude }),
      ...(longitude === undefined ? {} : { longitude }),
    },
    hasMinus: { latitude: hasMinus('latitude'), longitude: hasMinus('longitude') },
  }
}

/** Where O stands beside W it is Ost, where it stands beside E it is ouest; alone it is what the header's language has. */
function meaningOfO(texts: readonly string[], headerWords: string): MeaningOfO {
  const has = (letter: RegExp): boolean => texts.some((text) => letter.test(text))
  if (has(/(^|[\d\s°'"])(W|West)$|^W/i)) return 'E'
  if (has(/(^|[\d\s°'"])E$|^E/i)) return 'W'
  if (has(/\bost\b/i)) return 'E'
  if (has(/\b(ouest|oeste|ovest)\b/i)) return 'W'
  const isGerman = /rufzeichen|ausgabe|eingabe|ablage|breite|lange|laenge|standort|frequenz/.test(
    headerWords,
  )
  const isRomance =
    /indicati|nominativo|distintivo|sortie|entree|salida|entrada|uscita|ingresso|latitud|decalage|frecuencia|frequenza|frequence\b/.test(
      headerWords.replace(/latitude|longitude/g, ''),
    )
  return isGerman === isRomance ? 'unknown' : isGerman ? 'E' : 'W'
}

/**
 * Whose 'transmit' and 'receive' are: the reading that agrees with the signs of the list, else with the output's own column,
 * else with what is usual in its parts of the band. 'unknown' when rows disagree, or none tells.
 */
export function viewpointOf(
  cells: Cells,
  columns: Columns,
  units: ListKnowledge['units'],
): Viewpoint {
  if (columns.transmit === undefined && columns.receive === undefined) return 'unknown'
  const [sends, hears, outputs] = [cells('transmit'), cells('receive'), cells('output')]
  const [signs, offsets] = [cells('sign'), cells('offset')]
  const count = Math.max(sends.length, hears.length)
  const votes: Record<Viewpoint, number> = { repeater: 0, user: 0, unknown: 0 }
  const frequency = (text: string | undefined, field: RepeaterField) =>
    parseFrequency(text ?? '', units[field])
  for (let at = 0; at < count; at++) {
    const seen = {
      transmitMHz: frequency(sends[at], 'transmit'),
      receiveMHz: frequency(hears[at], 'receive'),
      outputMHz: frequency(outputs[at], 'output'),
      said: shiftSaid(signs[at], offsets[at], units.offset, frequency(sends[at], 'transmit') ?? 0),
    }
    votes[voteOf(seen)]++
  }
  const [winner, loser] =
    votes.user > votes.repeater ? (['user', 'repeater'] as const) : (['repeater', 'user'] as const)
  // Single rows that disagree are wrong themselves, and are left out when they are read.
  return votes[winner] > 0 && votes[loser] <= votes[winner] * disagreeingShare ? winner : 'unknown'
}

function shiftSaid(
  sign: string | undefined,
  offset: string | undefined,
  unit: FrequencyUnit | undefined,
  outputMHz: number,
): { sign?: -1 | 0 | 1; shiftMHz?: number } {
  const [a, b] = [
    parseShift(sign ?? '', undefined, outputMHz),
    parseShift(offset ?? '', unit, outputMHz),
  ]
  return { ...b, ...a }
}

interface Seen {
  readonly transmitMHz: number | undefined
  readonly receiveMHz: number | undefined
  readonly outputMHz: number | undefined
  readonly said: { readonly sign?: -1 | 0 | 1; readonly shiftMHz?: number }
}

function voteOf({ transmitMHz, receiveMHz, outputMHz, said }: Seen): Viewpoint {
  if (transmitMHz !== undefined && receiveMHz !== undefined) {
    const shiftMHz = receiveMHz - transmitMHz
    if (shiftMHz === 0) return 'unknown'
    const sign = shiftMHz < 0 ? -1 : 1
    if (said.sign === -1 || said.sign === 1) return said.sign === sign ? 'repeater' : 'user'
    if (outputMHz !== undefined && outputMHz !== transmitMHz && outputMHz !== receiveMHz)
      return 'unknown'
    if (outputMHz !== undefined) return outputMHz === transmitMHz ? 'repeater' : 'user'
    return usualVote(transmitMHz, receiveMHz, sign)
  }
  const only = transmitMHz ?? receiveMHz
  if (only === undefined) return 'unknown'
  const isTransmit = transmitMHz !== undefined
  if (outputMHz !== undefined) {
    if (outputMHz === only) return 'unknown'
    return isTransmit ? 'user' : 'repeater'
  }
  const { sign, shiftMHz } = said
  if (shiftMHz === undefined || (sign !== -1 && sign !== 1)) return 'unknown'
  const isOutput = signOfPart(only) === sign
  const isInput = signOfPart(only - sign * shiftMHz) === sign
  if (isOutput === isInput) return 'unknown'
  return isOutput === isTransmit ? 'repeater' : 'user'
}

/** By the band alone, when one of both readings is usual and the other is not. */
function usualVote(transmitMHz: number, receiveMHz: number, sign: -1 | 1): Viewpoint {
  const asRepeater = signOfPart(transmitMHz) === sign
  const asUser = signOfPart(receiveMHz) === -sign
  if (asRepeater === asUser) return 'unknown'
  return asRepeater ? 'repeater' : 'user'
}
