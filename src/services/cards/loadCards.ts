import { readdir, stat } from 'node:fs/promises'
import { basename, extname, join } from 'node:path'
import { Failure } from '../../runtime/failure.js'
import { readDataFile } from '../data/readDataFile.js'
import type { Loaded, Rejected } from '../data/rejected.js'
import type { Card } from './card.js'
import { parseCsvCards, parseMarkdownCards } from './parseCards.js'

/** Files that hold cards, by the ends of their names. */
export const cardFileEnds: readonly string[] = ['.md', '.markdown', '.csv']

/** A rejected place of a folder names its file too. */
export interface RejectedCard extends Rejected {
  readonly file: string
}

export interface Cards extends Loaded<Card> {
  readonly rejected: readonly RejectedCard[]
  readonly files: readonly string[]
}

/**
 * Reads the cards of one file, or of every Markdown and CSV file directly in a folder.
 * @throws Failure 'data-unreadable', 'data-too-large' or 'cards-unusable' for another kind of file
 */
export async function loadCards(path: string): Promise<Cards> {
  const files = await cardFiles(path)
  const entries: Card[] = []
  const rejected: RejectedCard[] = []
  let rejectedCount = 0
  for (const file of files) {
    const name = basename(file)
    const text = await readDataFile(file, 'a file of cards')
    const parse = extname(name).toLowerCase() === '.csv' ? parseCsvCards : parseMarkdownCards
    const loaded = parse(text, name)
    for (const card of loaded.entries) entries.push(card)
    for (const one of loaded.rejected) rejected.push({ ...one, file: name })
    rejectedCount += loaded.rejectedCount
  }
  return { entries, rejected, rejectedCount, files }
}

async function cardFiles(path: string): Promise<string[]> {
  const found = await stat(path).catch((cause: unknown) => {
    throw new Failure({
      code: 'data-unreadable',
      subject: path,
      got: 'nothing that can be read',
      expected: 'a folder or a file of cards',
      cause,
    })
  })
  const isCards = (name: string): boolean => cardFileEnds.includes(extname(name).toLowerCase())
  if (found.isDirectory()) {
    const names = (await readdir(path)).filter((name) => !name.startsWith('.') && isCards(name))
    return names.sort().map((name) => join(path, name))
  }
  if (isCards(path)) return [path]
  throw new Failure({
    code: 'cards-unusable',
    subject: path,
    got: `a file that ends in "${extname(path)}"`,
    expected: `one that ends in ${cardFileEnds.join(', ')}`,
  })
}
