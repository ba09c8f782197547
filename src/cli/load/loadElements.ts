import { readFile } from 'node:fs/promises'
import { basename } from 'node:path'
import { replaceFile } from '../../devices/replaceFile.js'
import { ageWords } from '../../services/geo/words.js'
import { loadElements } from '../../services/sky/parseElements.js'
import { inEnglish } from '../../words/air/all.js'
import { type LoadInput, type Prepared, targetOf } from './loadInput.js'
import { countLines, countWords } from './loadReport.js'

const dayMs = 86_400_000

/** Element sets stay in the form in which they come. */
export async function prepareElements(input: LoadInput): Promise<Prepared> {
  const { source, nowWallMs } = input
  const { file, elementAgeMaxDays } = input.config.services.pass
  const target = targetOf(input, 'services.pass.file', file)
  const parsed = await loadElements(source)
  const content = await readFile(source)
  const ages = parsed.entries.map((set) => Math.abs(nowWallMs - set.epochWallMs))
  const tooOld = ages.filter((ageMs) => ageMs > elementAgeMaxDays * dayMs).length
  const lines = [
    `Form: ${formWords[parsed.form]}`,
    ...countLines('element set', basename(source), parsed),
    `Newest ${ageWords(Math.min(...ages), inEnglish)} old, oldest ${ageWords(Math.max(...ages), inEnglish)}`,
  ]
  if (tooOld > 0)
    lines.push(`${tooOld} of them too old to answer from (over ${elementAgeMaxDays} days)`)
  const inPlace = await loadElements(target).catch(() => undefined)
  return {
    lines,
    rightCount: parsed.entries.length,
    rejectedCount: parsed.rejectedCount,
    target,
    now:
      inPlace === undefined
        ? 'nothing usable there now'
        : `now ${countWords(inPlace.entries.length, 'element set')}`,
    replace: async () => replaceFile(target, content),
  }
}

const formWords = {
  'two-line': 'two lines each',
  kvn: 'OMM, KVN',
  xml: 'OMM, XML',
  json: 'OMM, JSON',
  csv: 'OMM, CSV',
} as const
