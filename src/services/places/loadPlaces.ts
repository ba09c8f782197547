import { basename } from 'node:path'
import { Failure } from '../../runtime/failure.js'
import { readDataFile } from '../data/readDataFile.js'
import type { Loaded } from '../data/rejected.js'
import { type NamedPlace, parsePlaces } from './parsePlaces.js'

/** @throws Failure 'data-unreadable', 'data-too-large', or 'places-unusable' when needed columns are missing */
export async function loadPlaces(file: string): Promise<Loaded<NamedPlace>> {
  const parsed = parsePlaces(await readDataFile(file, 'a CSV file of places'))
  if (parsed.ok) return parsed
  const { got, expected } = parsed
  const subject = basename(file)
  throw new Failure({
    ...{ code: 'places-unusable', subject, got, expected },
    advice: 'name the columns in the first line',
  })
}
