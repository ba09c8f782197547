import { describe, expect, it } from 'vitest'
import { findColumns, foldHeader, unitOfHeader } from '../../../src/services/data/columns.js'

const fields = { name: ['name', 'place'], output: ['output', 'frequency'] } as const

describe('findColumns', () => {
  it('recognises header texts whatever their case, marks, blanks and units', () => {
    expect(findColumns(['Output (MHz)', 'PLACE '], fields)).toEqual({
      ok: true,
      columns: { output: 0, name: 1 },
    })
    expect(foldHeader('Ausgabe-Frequenz [MHz]')).toBe('ausgabefrequenz')
  })
  it('goes by the map first, and takes no column twice', () => {
    const header = ['name', 'place', 'frequency']
    expect(findColumns(header, fields, { output: 'name' })).toEqual({
      ok: true,
      columns: { output: 0, name: 1 },
    })
    expect(findColumns(header, fields, { name: 2 })).toMatchObject({ columns: { name: 1 } })
  })
  it('says which columns of the map are not there', () => {
    expect(findColumns(['a'], fields, { name: 'Ort', output: 7 })).toEqual({
      ok: false,
      unknownHeaders: ['Ort', '7'],
    })
  })
})

describe('unitOfHeader', () => {
  it.each([
    ['Shift (kHz)', 'khz'],
    ['output MHz', 'mhz'],
    ['freq_Hz', 'hz'],
    ['offsetKHz', 'khz'],
    ['frequency', undefined],
  ])('%s', (text, unit) => {
    expect(unitOfHeader(text)).toBe(unit)
  })
})
