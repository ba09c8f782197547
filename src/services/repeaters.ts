import { messageCharactersMax } from '../aprs/messageText.js'
import { referenceOf, wayFromWords } from './geo/reference.js'
import { distanceWords } from './geo/words.js'
import { parseBand } from './repeaters/bands.js'
import type { RepeaterIndex } from './repeaters/directory.js'
import { isOffered, type RepeaterEntry, repeaterWords } from './repeaters/entry.js'
import type { Service } from './service.js'

export interface RepeatersOptions {
  /** the directory as it is now; undefined when none is loaded */
  directory(): RepeaterIndex | undefined
  /** farther ones are of no use on a hand-held */
  readonly rangeM: number
  /** an asker's older position is not used */
  readonly positionAgeMaxMs: number
}

const countDefault = 3
const countMax = 10

/** `repeaters N [band]`: the nearest of the directory, one message each. */
export function repeatersService(options: RepeatersOptions): Service {
  return {
    keyword: 'repeaters',
    summary: 'Nearest repeaters: output, offset, tone, distance, direction',
    usage: 'repeaters N [band]',
    messagesMax: (question) => readWords(question.words).count ?? countDefault,
    answer(question, context) {
      const { count = countDefault, band, unclear } = readWords(question.words)
      if (unclear !== undefined)
        return `"${unclear.slice(0, 12)}" is unclear. Send e.g. repeaters 2 or repeaters 3 70cm`
      const directory = options.directory()
      if (directory === undefined || directory.entries.length + directory.placeless.length === 0)
        return 'No repeater directory is loaded here.'
      const reference = referenceOf(context, options.positionAgeMaxMs)
      if (reference === undefined) return 'Where are you? Send a position beacon, then ask again.'
      const isWanted = (entry: RepeaterEntry): boolean =>
        isOffered(entry) && (band === undefined || band.includes(entry.outputMHz))
      const near = directory
        .nearest(reference.position, count, isWanted)
        .filter(({ way }) => way.distanceM <= options.rangeM)
        .map(({ entry, way }) =>
          withPlace(entry, ` ${wayFromWords(way, reference, context.node.units)}`),
        )
      // A list of the club's own area may have no places at all.
      const others = directory.placeless
        .filter(isWanted)
        .slice(0, count - near.length)
        .map((entry) => withPlace(entry, ' place not known'))
      if (near.length + others.length > 0) return [...near, ...others]
      const kind = band === undefined ? 'repeater' : `${band.words} repeater`
      const range = distanceWords(options.rangeM, context.node.units)
      return `No ${kind} in the list within ${range} ${reference.words}.`
    },
  }
}

const withPlace = (entry: RepeaterEntry, place: string): string =>
  `${repeaterWords(entry, messageCharactersMax - place.length)}${place}`

/** A bare number up to this is a count; above it is MHz. */
const largestCount = 27

function readWords(words: readonly string[]): {
  count?: number
  band?: NonNullable<ReturnType<typeof parseBand>>
  unclear?: string
} {
  let count: number | undefined
  let band: ReturnType<typeof parseBand>
  for (const word of words) {
    const isCount = /^\d{1,2}$/.test(word) && Number(word) >= 1 && Number(word) <= largestCount
    if (isCount && count === undefined) count = Math.min(Number(word), countMax)
    else if (band === undefined && parseBand(word) !== undefined) band = parseBand(word)
    else if (!/^(near|nearest|mhz|band)$/i.test(word)) return { unclear: word }
  }
  return { ...(count === undefined ? {} : { count }), ...(band === undefined ? {} : { band }) }
}
