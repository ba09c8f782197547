import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { decodeText } from '../../../src/services/data/decodeText.js'
import {
  type AccessTone,
  isOffered,
  isPlaced,
  type RepeaterEntry,
} from '../../../src/services/repeaters/entry.js'
import { parseRepeaters } from '../../../src/services/repeaters/parseRepeaters.js'

/*
 * Forty layouts of directories, written by another hand than the reader, which was built without a look at them. They are
 * locked: a reader that fails one is mended, not the layout. 41 to 52 came later, from the hand that mended the reader; what
 * they should give was taken from their figures, not from what the reader gave.
 */
interface ExpectedRow {
  readonly call: string | null
  readonly outputMHz: number | null
  readonly offsetMHz: number | null
  readonly tone: string | null
  readonly latitude?: number
  readonly longitude?: number
  readonly expect: 'load' | 'loadWithoutTone' | 'warnOrRefuse' | 'notOffered'
}

const folder = new URL('layouts/', import.meta.url)
const names = readdirSync(folder).sort()
const layouts = names.filter((name) => name.endsWith('.csv'))

function toneText(tone: AccessTone | undefined): string | null {
  switch (tone?.kind) {
    case undefined:
      return null
    case 'tone':
      return tone.toneHz.toFixed(1)
    case 'code':
      return `D${tone.code}${tone.inverted ? 'I' : 'N'}`
    case 'burst':
      return '1750'
    case 'digital':
      return tone.text
  }
}

/** What is wrong with one layout, a line each; `silent` for what nothing was said about. */
function judge(name: string): { wrong: string[]; silent: string[] } {
  const text = decodeText(readFileSync(new URL(name, folder)))
  const expected = JSON.parse(readFileSync(new URL(name.replace('csv', 'json'), folder), 'utf8'))
  const rows: readonly ExpectedRow[] = expected.rows
  const parsed = parseRepeaters(text)
  const wrong: string[] = []
  const silent: string[] = []
  if (!parsed.ok) {
    if (rows.some((row) => row.expect === 'load'))
      wrong.push(`table: got ${parsed.got}, expected ${parsed.expected}`)
    return { wrong, silent }
  }
  const lines = text.split(/\r\n|\n|\r/)
  const said = [...parsed.rejected, ...parsed.warned]
  for (const row of rows) {
    // The row without a call has nothing else either.
    const mark = row.call ?? ',Nowhere,'
    const at = lines.flatMap((line, index) => (line.includes(mark) ? [index + 1] : []))
    const remarks = said.filter(({ line, got }) => at.includes(line) && got !== 'no place')
    const found = parsed.entries.filter(({ call }) => call === row.call)
    // One call and frequency in several modes is one entry, with the access of one of its rows.
    const same = rows.filter(({ call }) => call === row.call)
    const fits = found.some((entry) => same.some((one) => isAsExpected(entry, one)))
    const remark = remarks
      .map((one) => `${one.field}: ${'taken' in one ? one.taken : one.expected}`)
      .join('; ')
    const shown = `${row.call} ${row.expect} ${JSON.stringify(row)} got ${JSON.stringify(found)} ${remark}`
    if (/^load/.test(row.expect) && !(fits && found.every(isOffered))) wrong.push(shown)
    if (row.expect === 'notOffered' && found.some(isOffered)) wrong.push(shown)
    const needsRemark = row.expect === 'warnOrRefuse' || row.expect === 'loadWithoutTone'
    if (needsRemark && remarks.length === 0) wrong.push(shown)
    if (found.length > 0 && !fits && remarks.length === 0) silent.push(shown)
  }
  const calls = new Set(rows.map(({ call }) => call))
  const others = parsed.entries.filter(({ call }) => !calls.has(call))
  for (const entry of others) silent.push(`not in the list: ${JSON.stringify(entry)}`)
  return { wrong, silent }
}

function isAsExpected(entry: RepeaterEntry, row: ExpectedRow): boolean {
  const { sign, shiftMHz = 0 } = entry.offset
  const near = (a: number, b: number | null | undefined, by: number): boolean =>
    b === null || b === undefined || Math.abs(a - b) <= by
  return (
    near(entry.outputMHz, row.outputMHz, 1e-6) &&
    near(sign * shiftMHz, row.offsetMHz, 1e-6) &&
    toneText(entry.accessTone) === row.tone &&
    near(isPlaced(entry) ? entry.latitudeDeg : 999, row.latitude, 2e-3) &&
    near(isPlaced(entry) ? entry.longitudeDeg : 999, row.longitude, 2e-3)
  )
}

describe('layouts of another hand', () => {
  it('are as they were written', () => {
    const hash = createHash('sha256')
    for (const name of names) {
      const content = readFileSync(new URL(name, folder))
      // Formatting leaves an expectation what it is.
      const kept = name.endsWith('.json') ? JSON.stringify(JSON.parse(String(content))) : content
      hash.update(name).update(kept)
    }
    expect(layouts).toHaveLength(52)
    expect(hash.digest('hex')).toBe(
      'ed8c823360c84437a7bbf5d5b2578ac42e2ee11f3ca5e1ad77fb9fc8b0c827c7',
    )
  })

  it.each(layouts)('%s is never wrong without a word', (name) => {
    expect(judge(name).silent).toEqual([])
  })

  it('loads what they hold', () => {
    const failing = layouts.filter((name) => judge(name).wrong.length > 0)
    for (const name of failing) console.log(name, judge(name).wrong.join('\n'))
    expect(failing).toEqual([])
  })
})
