import { findColumns } from '../data/columns.js'
import { readCsvTable } from '../data/csvTable.js'
import { type Loaded, quoted, rejectedList } from '../data/rejected.js'
import { withoutRemarks } from '../data/remarks.js'
import type { Card } from './card.js'

/**
 * Cards of a Markdown file: every heading begins one, and the text under it up to the next heading is what it says.
 * A line `Keywords: bus, timetable` adds words by which it is found. Without a heading the file's name is the title.
 * Marks of Markdown that a message cannot show are dropped.
 */
export function parseMarkdownCards(text: string, fileName: string): Loaded<Card> {
  const rejected = rejectedList()
  const entries: Card[] = []
  let open = { title: titleOf(fileName), line: 1, named: false }
  let body: string[] = []
  let keywords: string[] = []
  const close = (): void => {
    const words = plainText(body.join('\n'))
    if (words !== '')
      entries.push({ title: open.title, keywords, text: words, place: `${fileName}:${open.line}` })
    else if (open.named)
      rejected.add({ line: open.line, got: quoted(open.title), expected: 'text under the heading' })
    body = []
    keywords = []
  }
  let fenced = false
  for (const [at, line] of text.split(/\r\n|\n|\r/).entries()) {
    if (/^\s*(```|~~~)/.test(line)) fenced = !fenced
    const heading = fenced ? undefined : headingOf(line)
    const words = /^\s*keywords?:\s*(.+)$/i.exec(line)
    if (heading !== undefined) {
      close()
      open = { title: plainText(heading), line: at + 1, named: true }
    } else if (words) keywords.push(...splitKeywords(words[1]!))
    else body.push(line)
  }
  close()
  return { entries, rejected: rejected.list, rejectedCount: rejected.count }
}

const cardFields = {
  title: ['title', 'topic', 'name', 'heading'],
  text: ['text', 'body', 'content', 'card', 'answer'],
  keywords: ['keywords', 'keyword', 'words', 'tags'],
} as const

/** Cards of a CSV file with the columns title, text and, if wanted, keywords. */
export function parseCsvCards(text: string, fileName: string): Loaded<Card> {
  const rejected = rejectedList()
  const table = readCsvTable(text)
  for (const one of table.rejected) rejected.add(one)
  const found = findColumns(table.header, cardFields)
  const columns = found.ok ? found.columns : {}
  const entries: Card[] = []
  if (columns.title === undefined || columns.text === undefined) {
    const got = `the columns ${table.header.map(quoted).join(', ')}`
    rejected.add({ line: 1, got, expected: 'columns title and text (and keywords)' })
    return { entries, rejected: rejected.list, rejectedCount: rejected.count }
  }
  for (const { line, cells } of table.rows) {
    const cell = (at: number | undefined): string => (at === undefined ? '' : (cells[at] ?? ''))
    const title = cell(columns.title).trim()
    const words = cell(columns.text).replace(/\s+/g, ' ').trim()
    if (title === '' || words === '') {
      const field = title === '' ? 'title' : 'text'
      rejected.add({ line, field, got: 'nothing', expected: 'some words' })
      continue
    }
    const keywords = splitKeywords(cell(columns.keywords))
    entries.push({ title, keywords, text: words, place: `${fileName}:${line}` })
  }
  return { entries, rejected: rejected.list, rejectedCount: rejected.count }
}

/** Of a line such as `## Bus timetable ##`; the marks at its end are for show. */
function headingOf(line: string): string | undefined {
  const marks = /^#{1,6}(?=\s)/.exec(line)?.[0]
  if (marks === undefined) return undefined
  const text = line.slice(marks.length).trim()
  let end = text.length
  while (text[end - 1] === '#') end--
  return text.slice(0, end).trimEnd() || undefined
}

const splitKeywords = (text: string): string[] =>
  text
    .split(/[,;]/)
    .map((word) => word.trim())
    .filter((word) => word !== '')

const titleOf = (fileName: string): string =>
  fileName.replace(/\.[^.]*$/, '').replace(/[-_]+/g, ' ')

/**
 * Words without Markdown's marks; list items and table rows follow one another with a semicolon between. No expression
 * may look at a stretch of text more than once from each of its characters: a file may be of one long line of them.
 */
function plainText(markdown: string): string {
  return withoutRemarks(markdown, () => '')
    .replace(/^[ \t]*(```|~~~).*$/gm, '')
    .replace(/!\[([^[\]]*)\]\([^()[]*\)/g, '$1')
    .replace(/\[([^[\]]*)\]\([^()[]*\)/g, '$1')
    .replace(/^[ \t:|-]+$/gm, (line) => (/.\|/.test(line) ? '' : line))
    .replace(
      /^[ \t]*\|(.*)\|[ \t]*$/gm,
      (_, row: string) =>
        `${row
          .split('|')
          .map((c) => c.trim())
          .join(' ')};`,
    )
    .replace(/^[ \t]*(?:[-*+]|\d+[.)])[ \t]+(.*)$/gm, '$1;')
    .replace(/^[ \t]*>[ \t]?/gm, '')
    .replace(/(\*\*|__|`)(.*?)\1/g, '$2')
    .replace(/(^|\W)\*([^\s*][^*\n]*)\*(?=\W|$)/g, '$1$2')
    .replace(/(^|\W)_([^\s_][^_\n]*)_(?=\W|$)/g, '$1$2')
    .replace(/([.!?:;,])\s*;/g, '$1')
    .replace(/\s+/g, ' ')
    .replace(/;\s*$/, '')
    .trim()
}
