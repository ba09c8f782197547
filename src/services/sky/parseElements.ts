import { basename } from 'node:path'
import { Failure } from '../../runtime/failure.js'
import { readDataFile } from '../data/readDataFile.js'
import type { Loaded } from '../data/rejected.js'
import type { ElementSet } from './elementSet.js'
import { type OmmForm, parseOmm } from './omm.js'
import { parseTwoLine } from './twoLine.js'

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

/** Reads element sets in any form; of a satellite that stands there twice, the newer set is kept. */
export function parseElements(text: string): Loaded<ElementSet> & { readonly form: ElementForm } {
  const form = formOfElements(text)
  const loaded = form === 'two-line' ? parseTwoLine(text) : parseOmm(text, form)
  const newest = new Map<string, ElementSet>()
  for (const set of loaded.entries) {
    const known = newest.get(set.catalogNumber)
    if (known === undefined || known.epochWallMs <= set.epochWallMs)
      newest.set(set.catalogNumber, set)
  }
  return { ...loaded, entries: [...newest.values()], form }
}

/**
 * Reads a file of element sets.
 * @throws Failure 'data-unreadable', 'data-too-large', or 'elements-unusable' when not one set is right
 */
export async function loadElements(file: string): Promise<ReturnType<typeof parseElements>> {
  const parsed = parseElements(await readDataFile(file, 'a file of element sets'))
  if (parsed.entries.length > 0) return parsed
  throw new Failure({
    code: 'elements-unusable',
    subject: basename(file),
    got: parsed.rejectedCount === 0 ? 'none' : `${parsed.rejectedCount} that are wrong`,
    expected: 'element sets, as two lines each or as OMM (KVN, XML, JSON or CSV)',
  })
}
