import { copyFile, mkdir, readdir, readFile, rm, stat } from 'node:fs/promises'
import { basename, extname, join } from 'node:path'
import { putFolderInPlace, replaceFile } from '../../devices/replaceFile.js'
import { cardFileEnds, loadCards } from '../../services/cards/loadCards.js'
import { UsageError } from '../shared/usageError.js'
import { type LoadInput, type Prepared, targetOf } from './loadInput.js'
import { countLines, countWords } from './loadReport.js'

/** A file takes its place among the cards; a folder takes the place of all of them. */
export async function prepareCards(input: LoadInput): Promise<Prepared> {
  const { source } = input
  const place = targetOf(input, 'services.find.folder', input.config.services.find.folder)
  const loaded = await loadCards(source)
  const isFolder = (await stat(source)).isDirectory()
  const placeIsFile = cardFileEnds.includes(extname(place).toLowerCase())
  if (isFolder && placeIsFile)
    throw new UsageError({
      code: 'load-cards',
      subject: source,
      got: 'a folder',
      expected: 'a file, since services.find.folder is one',
    })
  const target = isFolder || placeIsFile ? place : join(place, basename(source))
  const inPlace = await loadCards(target).catch(() => undefined)
  const titles = loaded.entries.map((card) => card.title)
  const others = isFolder ? await otherFiles(source) : []
  const lines = [
    ...countLines('card', basename(source), loaded),
    `Titles: ${titles.slice(0, 12).join(', ')}${titles.length > 12 ? ', ...' : ''}`,
  ]
  if (others.length > 0) lines.push(`Not cards, left out: ${others.join(', ')}`)
  return {
    lines,
    rightCount: loaded.entries.length,
    rejectedCount: loaded.rejectedCount,
    target,
    now:
      inPlace === undefined
        ? 'there is none yet'
        : `now ${countWords(inPlace.entries.length, 'card')}`,
    replace: async () => {
      if (isFolder) await replaceCards(target, loaded.files)
      else replaceFile(target, await readFile(source))
    },
  }
}

async function otherFiles(folder: string): Promise<string[]> {
  const names = await readdir(folder)
  return names.filter((name) => !cardFileEnds.includes(extname(name).toLowerCase())).sort()
}

async function replaceCards(target: string, files: readonly string[]): Promise<void> {
  const prepared = `${target}.partial`
  await rm(prepared, { recursive: true, force: true })
  await mkdir(prepared, { recursive: true })
  for (const file of files) await copyFile(file, join(prepared, basename(file)))
  putFolderInPlace(prepared, target)
}
