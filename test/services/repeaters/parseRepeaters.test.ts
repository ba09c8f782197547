import { describe, expect, it } from 'vitest'
import { describeRejected } from '../../../src/services/data/rejected.js'
import { repeaterWords } from '../../../src/services/repeaters/entry.js'
import { parseRepeaters } from '../../../src/services/repeaters/parseRepeaters.js'
import { inEnglish } from '../../../src/words/air/all.js'

const read = (text: string, columns = {}) => {
  const parsed = parseRepeaters(text, columns)
  if (!parsed.ok) throw new Error(`${parsed.got}; ${parsed.expected}`)
  return parsed
}
const words = (text: string, columns = {}) =>
  read(text, columns).entries.map((entry) => repeaterWords(entry, 67, inEnglish))

describe('parseRepeaters', () => {
  it('reads the plain form', () => {
    expect(
      words('name,call,output,offset,tone,lat,lon\nHeron Knob,q1ash,146.94,-0.6,100,45,-36\n'),
    ).toEqual(['Heron Knob Q1ASH 146.940-0.6MHz tone 100Hz'])
  })

  it('reads semicolons with decimal commas, an input frequency, and a locator', () => {
    expect(
      words(
        'Ort;Rufzeichen;Ausgabe;Eingabe;CTCSS;Locator\nHöhe;q1hoe;438,7125;431,1125;67,0;JN58td\n',
      ),
    ).toEqual(['Höhe Q1HOE 438.7125-7.6MHz tone 67Hz'])
    expect(read('call,output,grid\nQ1A,146.94,JN58td').entries[0]).toMatchObject({
      latitudeDeg: 48.145833333333336,
      longitudeDeg: 11.625,
    })
  })

  const offset = '-0.6'
  const input = '146.34'
  it.each([
    [
      'English',
      'Location,Callsign,Frequency,Offset,Access tone,Latitude,Longitude,Grid,Mode',
      offset,
    ],
    ['English', 'Site,Call,Output,Input,CTCSS,Lat,Lon,Locator,Type', input],
    [
      'German',
      'Standort,Rufzeichen,Frequenz,Ablage,Subton,Breite,Länge,Locator,Betriebsart',
      offset,
    ],
    [
      'German',
      'Ort,Rufzeichen,Ausgabe,Eingabe,Ton,Breitengrad,Längengrad,QTH-Kenner,Modulation',
      input,
    ],
    [
      'French',
      'Nom,Indicatif,Fréquence,Décalage,Tonalité,Latitude,Longitude,Localisateur,Mode',
      offset,
    ],
    ['French', 'Lieu,Indicatif,Sortie,Entrée,CTCSS,Latitude,Longitude,Carré,Modulation', input],
  ])('%s headers need no map: %s', (_, header, fourth) => {
    const { meanings, entries } = read(
      `${header}\nHeron Knob,Q1ASH,146.94,${fourth},100,45,-36,,FM`,
    )
    expect(meanings).not.toContain(undefined)
    expect(entries.map((entry) => repeaterWords(entry, 67, inEnglish))).toEqual([
      'Heron Knob Q1ASH 146.940-0.6MHz tone 100Hz',
    ])
  })

  it.each([
    ['output', '146940', 146.94],
    ['output', '146940000', 146.94],
    ['output', '146.94 MHz', 146.94],
    ['Frequency (kHz)', '29640', 29.64],
    ['Output Hz', '438712500', 438.7125],
    ['output', '1292.4', 1292.4],
  ])('under "%s" takes %s for a frequency', (header, text, outputMHz) => {
    const { entries } = read(`name,${header},lat,lon\nA,${text},1,2`)
    expect(entries[0]!.outputMHz).toBe(outputMHz)
  })

  it.each([
    ['-0.6', '-0.6MHz'],
    ['-600', '-0.6MHz'],
    ['+5 MHz', '+5MHz'],
    ['-600 kHz', '-0.6MHz'],
    ['-7600000', '-7.6MHz'],
    ['-', 'MHz -'],
    ['+', 'MHz +'],
    ['simplex', 'MHz'],
    ['0', 'MHz'],
    ['', 'MHz'],
  ])('takes "%s" for an offset', (text, shown) => {
    expect(words(`name,output,offset,lat,lon\nA,146.94,${text},1,2`)).toEqual([`A 146.940${shown}`])
  })

  it.each([
    ['100.0 Hz', ' tone 100Hz'],
    ['88,5', ' tone 88.5Hz'],
    ['PL 123.0', ' tone 123Hz'],
    ['D023', ' DCS 023'],
    ['DCS 114', ' DCS 114'],
    ['023 DPL', ' DCS 023'],
    ['none', ''],
    ['CSQ', ''],
    ['', ''],
  ])('takes "%s" for an access tone', (text, shown) => {
    expect(words(`name,output,tone,lat,lon\nA,146.94,"${text}",1,2`)).toEqual([
      `A 146.940MHz${shown}`,
    ])
  })

  it('names each bad row by line, field, got and expected, and loads the others', () => {
    const parsed = read(
      [
        'name,output,offset,tone,lat,lon',
        'Good,146.94,-0.6,100,45,-36',
        ',146.94,-0.6,100,45,-36',
        'Band,14.1,-0.6,100,45,-36',
        'Offset,146.94,sideways,100,45,-36',
        'Tone,146.94,-0.6,3000,45,-36',
        'Place,146.94,-0.6,100,91.2,-36',
        'Short',
        'Good too,147.3,0.6,,45,-36',
      ].join('\n'),
    )
    expect(parsed.entries.map((entry) => entry.name)).toEqual(['Good', 'Tone', 'Good too'])
    expect(parsed.rejectedCount).toBe(5)
    expect(parsed.rejected.map((one) => describeRejected('list.csv', one))).toEqual([
      'list.csv:3: name: got nothing, expected a name or a call sign',
      'list.csv:4: output: got "14.1", expected a frequency from 28 to 10500 MHz',
      'list.csv:5: offset: got "sideways", expected an offset such as -0.6 or -600 kHz, a sign, or simplex',
      'list.csv:7: latitude: got "91.2", expected degrees from -90 to 90',
      'list.csv:8: output: got nothing, expected a frequency from 28 to 10500 MHz',
    ])
  })

  it('goes by the map where headers say nothing', () => {
    const text = 'c1,c2,c3,c4\nHeron Knob,146.94,45,-36'
    expect(parseRepeaters(text).ok).toBe(false)
    expect(words(text, { name: 'c1', output: 2, latitude: 'C3', longitude: 'c4' })).toEqual([
      'Heron Knob 146.940MHz',
    ])
  })

  it('says what a table lacks', () => {
    expect(parseRepeaters('')).toMatchObject({ ok: false, got: 'an empty file' })
    expect(parseRepeaters('foo,bar\n1,2')).toMatchObject({
      ok: false,
      got: 'the columns "foo", "bar"',
      expected: 'columns for output (frequency), name or call',
    })
    expect(parseRepeaters('name,output,lat,lon\n', { tone: 'PL' })).toMatchObject({
      ok: false,
      got: 'no column "PL"',
    })
  })
})
