import { basename } from 'node:path'
import { Failure } from '../../runtime/failure.js'
import { readDataFile } from '../data/readDataFile.js'
import { type Loaded, loadedOf, type Rejected } from '../data/rejected.js'
import type { ElementSet } from './elementSet.js'
import { type OmmForm, ommSets } from './omm.js'
import { twoLineSets } from './twoLine.js'

export type ElementForm = 'two-line' | OmmForm

/** Which form a file of element sets has, by its first characters. */
export function formOfElements(text: string): ElementForm {
  const start = text.trimStart().slice(0, 2000)
  if (/^[[{]/.test(start)) return 'json'
  if (start.startsWith('<')) return 'xml'
  const firstLine = start.split(/\r|\n/, 1)[0]!
  if (/\bMEAN_MOTION\b/.test(firstLine) && /[,;\t]/.test(firstLine)) return 'csv'
  if (/^(CCSDS_OMM_VERS|OBJECT_NAME)\s*=/m.test(start)) return 'kvn'
  return 'two-line'
}

export type LoadedElements = Loaded<ElementSet> & { readonly form: ElementForm }

/** Reads element sets in any form, one after another. */
export const elementSets = (text: string, form: ElementForm): Generator<ElementSet | Rejected> =>
  form === 'two-line' ? twoLineSets(text) : ommSets(text, form)

/** Sorts what was read; of a satellite that stands there twice, the newer set is kept. */
export function loadedElements(
  read: Iterable<ElementSet | Rejected>,
  form: ElementForm,
): LoadedElements {
  const loaded = loadedOf(read)
  const newest = new Map<string, ElementSet>()
  for (const set of loaded.entries) {
    const known = newest.get(set.catalogNumber)
    if (known === undefined || known.epochWallMs <= set.epochWallMs)
      newest.set(set.catalogNumber, set)
  }
  return { ...loaded, entries: [...newest.values()], form }
}

/** Some milliseconds of reading. */
const setsAtATime = 100

/**
 * Reads a file of element sets.
 * @throws Failure 'data-unreadable', 'data-too-large', or 'elements-unusable' when not one set is right
 */
export async function loadElements(file: string): Promise<LoadedElements> {
  const text = await readDataFile(file, 'a file of element sets')
  const form = formOfElements(text)
  const read: (ElementSet | Rejected)[] = []
  for (const one of elementSets(text, form)) {
    read.push(one)
    // A long list must not hold up everything else.
    if (read.length % setsAtATime === 0) await new Promise((resume) => setImmediate(resume))
  }
  const parsed = loadedElements(read, form)
  if (parsed.entries.length > 0) return parsed
  const [first] = parsed.rejected
  if (first === undefined)
    throw new Failure({
      code: 'elements-unusable',
      subject: basename(file),
      got: 'none',
      expected: 'element sets, as two lines each or as OMM (KVN, XML, JSON or CSV)',
    })
  const field = first.field === undefined ? '' : `: ${first.field}`
  throw new Failure({
    code: 'elements-unusable',
    subject: `${basename(file)}:${first.line}${field}`,
    got: first.got,
    expected: first.expected,
    advice: `none of its element sets is right (${parsed.rejectedCount} wrong), so nothing was loaded`,
  })
}
