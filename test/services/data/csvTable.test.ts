import { describe, expect, it } from 'vitest'
import { readCsvTable } from '../../../src/services/data/csvTable.js'
import { decodeText } from '../../../src/services/data/decodeText.js'

const cells = (text: string) => readCsvTable(text).rows.map((row) => [row.line, ...row.cells])

describe('readCsvTable', () => {
  it('names each row by the line on which it begins, through blank lines and quoted line breaks', () => {
    expect(cells('name,f\r\nA,1\r\n\r\nB,"two\r\nlines"\r\nC,"x, ""y"""\r\n')).toEqual([
      [2, 'A', '1'],
      [4, 'B', 'two\nlines'],
      [6, 'C', 'x, "y"'],
    ])
  })

  it('takes semicolons, tabs, and decimal commas between them', () => {
    expect(cells('a;b\n1,5;2')).toEqual([[2, '1,5', '2']])
    expect(cells('a\tb\n1\t2')).toEqual([[2, '1', '2']])
    expect(readCsvTable('"a, first";b\n1;2').header).toEqual(['a, first', 'b'])
  })

  it('loses only the row whose quotation mark is never closed', () => {
    const table = readCsvTable('name,f\nA,"open\nB,2\nC,3\n')
    expect(table.rows.map((row) => [row.line, ...row.cells])).toEqual([
      [3, 'B', '2'],
      [4, 'C', '3'],
    ])
    expect(table.rejected).toEqual([
      { line: 2, got: '"A,\\"open"', expected: 'a closing quotation mark' },
    ])
  })

  it('is not misled by a second one further down', () => {
    const table = readCsvTable('name,f\nA,"open\nB,2\nC,"also open\nD,4\nE,"fine"\nF,6\n')
    expect(table.rows.map((row) => row.cells[0])).toEqual(['B', 'D', 'E', 'F'])
    expect(table.rejected.map((one) => one.line)).toEqual([2, 4])
  })

  it('keeps a stray quotation mark inside a cell', () => {
    expect(cells('a,b\nthe "old" mill,2')).toEqual([[2, 'the "old" mill', '2']])
  })

  it('leaves out rows of empty cells, as spreadsheets write them', () => {
    expect(cells('a;b\n;;\n1;2\n ; \n')).toEqual([[3, '1', '2']])
  })

  it('gives nothing for nothing', () => {
    expect(readCsvTable('')).toMatchObject({ header: [], rows: [], rejected: [] })
    expect(readCsvTable('a,b\n')).toMatchObject({ header: ['a', 'b'], rows: [] })
  })

  it('ends in time on a file that is nothing but open quotation marks', () => {
    const table = readCsvTable(`a,b\n${'x,"y\n'.repeat(3000)}`)
    expect(table.rejected.length).toBeGreaterThan(50)
  })
})

describe('decodeText', () => {
  const bytes = (...values: number[]) => Uint8Array.from(values)
  it('drops the byte order mark and reads UTF-16 by its own', () => {
    expect(decodeText(bytes(0xef, 0xbb, 0xbf, 0x61))).toBe('a')
    expect(decodeText(bytes(0xff, 0xfe, 0x61, 0, 0xe9, 0))).toBe('aé')
    expect(decodeText(bytes(0xfe, 0xff, 0, 0x61))).toBe('a')
  })
  it('reads what is no UTF-8 as spreadsheets write it', () => {
    expect(decodeText(bytes(0x48, 0xf6, 0x68, 0x65))).toBe('Höhe')
    expect(decodeText(new TextEncoder().encode('Höhe'))).toBe('Höhe')
  })
})
