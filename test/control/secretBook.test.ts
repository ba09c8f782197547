import { existsSync, mkdtempSync, rmSync, statSync, utimesSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { secretBook, writeControlFile } from '../../src/control/controlFile.js'

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-book-'))
  file = join(folder, 'control.json')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const entry = (call: string, counter = 0) =>
  ({ call, goesBy: 'counter', secret: new Uint8Array(20), counter }) as const
const faults: string[] = []
const open = () => secretBook(file, ({ message }) => faults.push(message))

it('sees at once what another process enrols, takes away or damages, also within one tick of the clock', () => {
  const book = open()
  expect(book.of('Q0AAA')).toEqual([])
  writeControlFile(file, { secrets: [entry('Q0AAA')], hold: undefined })
  expect(book.of('Q0AAA')).toHaveLength(1)
  const { atime, mtime } = statSync(file)
  writeControlFile(file, { secrets: [entry('Q0BBB')], hold: undefined })
  utimesSync(file, atime, mtime)
  expect(book.of('Q0AAA')).toEqual([])
  expect(book.of('Q0BBB')).toHaveLength(1)
  writeFileSync(file, '{')
  expect(book.of('Q0BBB')).toEqual([])
  expect(faults.at(-1)).toMatch(/JSON/)
  rmSync(file)
  expect(existsSync(file)).toBe(false)
  expect(book.of('Q0BBB')).toEqual([])
})

it('never shows a counter that has been used', () => {
  writeControlFile(file, { secrets: [entry('Q0AAA')], hold: undefined })
  const book = open()
  for (let counter = 1; counter <= 50; counter++) {
    expect(book.keepCounter(book.of('Q0AAA')[0]!, counter)).toBe(true)
    expect(book.of('Q0AAA')[0]!.counter).toBe(counter)
  }
})
