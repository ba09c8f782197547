import { basename } from 'node:path'
import { Failure } from '../../runtime/failure.js'
import { readDataFile } from '../data/readDataFile.js'
import type { Loaded } from '../data/rejected.js'
import { type NearestIndex, nearestIndex } from '../geo/nearest.js'
import { isPlaced, type PlacedRepeater, type RepeaterEntry } from './entry.js'
import { parseRepeaters, type RepeaterColumns } from './parseRepeaters.js'

/** The directory as it is searched. */
export interface RepeaterIndex extends NearestIndex<PlacedRepeater> {
  /** those whose place the directory does not give, in its order */
  readonly placeless: readonly RepeaterEntry[]
}

export interface RepeaterDirectory extends Loaded<RepeaterEntry> {
  readonly index: RepeaterIndex
}

/** @param entries in the order of the directory */
export function repeaterIndex(entries: readonly RepeaterEntry[]): RepeaterIndex {
  return {
    ...nearestIndex(entries.filter(isPlaced), (entry) => entry),
    placeless: entries.filter((entry) => !isPlaced(entry)),
  }
}

/**
 * Reads a directory file and builds its index.
 * @throws Failure 'data-unreadable', 'data-too-large', or 'repeaters-unusable' when needed columns are missing
 */
export async function loadRepeaters(
  file: string,
  columns: RepeaterColumns = {},
): Promise<RepeaterDirectory> {
  const parsed = parseRepeaters(await readDataFile(file, 'a CSV file of repeaters'), columns)
  if (!parsed.ok)
    throw new Failure({
      code: 'repeaters-unusable',
      subject: basename(file),
      got: parsed.got,
      expected: parsed.expected,
      advice: 'name the columns under services.repeaters.columns, or with --map',
    })
  return { ...parsed, index: repeaterIndex(parsed.entries) }
}
