import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { describeRejected, describeWarned } from '../../../src/services/data/rejected.js'
import { repeaterIndex } from '../../../src/services/repeaters/directory.js'
import { repeaterWords } from '../../../src/services/repeaters/entry.js'
import { formatRepeaters } from '../../../src/services/repeaters/formatRepeaters.js'
import { parseRepeaters } from '../../../src/services/repeaters/parseRepeaters.js'
import { repeatersService } from '../../../src/services/repeaters.js'
import { inEnglish } from '../../../src/words/air/all.js'
import { answerOf } from '../testContext.js'

/** Invented repeaters at one place each; the reader must say something to all that it does not take as it stands. */
const read = (text: string) => {
  const parsed = parseRepeaters(text)
  if (!parsed.ok) throw new Error(`${parsed.got}; ${parsed.expected}`)
  return {
    words: parsed.entries.map((entry) => repeaterWords(entry, 67, inEnglish)),
    left: parsed.rejected.map((one) => describeRejected('f', one)),
    doubts: parsed.warned
      .filter(({ got }) => got !== 'no place')
      .map((one) => describeWarned('f', one)),
    parsed,
  }
}

describe('both points of view', () => {
  const rows = (header: string, ...cells: string[]) => read([header, ...cells].join('\n')).words

  it('are told apart by words for the repeater and for its user', () => {
    for (const header of [
      'call,Repeater TX,Repeater RX',
      'call,TX (relais),RX (relais)',
      'call,Mobile RX,Mobile TX',
      'call,Your receive freq,Your transmit freq',
      'call,Downlink,Uplink',
      'call,Salida,Entrada',
    ])
      expect(rows(header, 'Q1ASH,145.6,145.0'), header).toEqual(['Q1ASH 145.600-0.6MHz'])
  })

  it('are told apart by the sign, where the words say nothing', () => {
    expect(rows('call,TX,RX,shift', 'Q1ASH,145.0,145.6,-')).toEqual(['Q1ASH 145.600-0.6MHz'])
    expect(rows('call,TX,RX,shift', 'Q1ASH,145.6,145.0,-')).toEqual(['Q1ASH 145.600-0.6MHz'])
    expect(rows('call,RX,shift', 'Q1ASH,145.6,-0.6')).toEqual(['Q1ASH 145.600-0.6MHz'])
    expect(rows('call,TX,shift', 'Q1ASH,145.0,-0.6')).toEqual(['Q1ASH 145.600-0.6MHz'])
  })

  it('are told apart by what is usual in the band, and else refused with what to do', () => {
    expect(rows('call,TX,RX', 'Q1ASH,145.0,145.6')).toEqual(['Q1ASH 145.600-0.6MHz'])
    expect(parseRepeaters('call,TX,RX\nQ1ASH,433.0,434.6')).toMatchObject({
      ok: false,
      expected: expect.stringMatching(/name output and input/),
    })
  })

  it('leave out the one row that contradicts all others', () => {
    const { words, left } = read(
      'call,TX,RX,shift\nQ1A,145.6,145.0,-\nQ1B,145.7,145.1,-\nQ1C,145.65,145.05,-\nQ1E,145.75,145.15,-\nQ1D,145.1,145.7,-\n',
    )
    expect(words).toHaveLength(4)
    expect(left).toEqual([
      expect.stringMatching(/^f:6: sign: got "-", expected what agrees with receive/),
    ])
  })
})

describe('offsets', () => {
  it.each([
    ['call,output,offset,input', 'Q1A,145.6,-0.6,146.2', /input|offset/],
    ['call,output,sign,offset', 'Q1A,145.6,+,-0.6', /offset/],
    ['call,output,sign,offset', 'Q1A,145.6,,0.6', /sign: got nothing, expected \+ or - beside/],
    ['call,output,sign,offset', 'Q1A,145.6,simplex,0.6', /expected what agrees with sign/],
    ['call,output,offset', 'Q1A,433.3,1.6', /its sign/],
    ['call,output,offset kHz', 'Q1A,145.6,-0.6', /expected an offset such as/],
    ['call,output,offset MHz', 'Q1A,145.6,-600', /expected an offset such as/],
  ])('%s: %s is refused with its line', (header, row, reason) => {
    const { words, left } = read(`${header}\n${row}`)
    expect(words).toEqual([])
    expect(left).toEqual([expect.stringMatching(/^f:2: /)])
    expect(left[0]).toMatch(reason)
  })

  it('without any sign are taken as is usual there, with a warning', () => {
    const { words, doubts } = read('call,output,offset\nQ1A,145.6,0.6\nQ1B,147.06,0.6')
    expect(words).toEqual(['Q1A 145.600-0.6MHz', 'Q1B 147.060+0.6MHz'])
    expect(doubts[0]).toMatch(/^f:2: offset: got "0\.6": no sign in the whole list: taken as -/)
  })

  it('without a sign among others with minus signs are above, but not where that is unusual', () => {
    const { words, left } = read(
      'call,output,offset\nQ1A,145.6,-0.6\nQ1B,147.06,0.6\nQ1C,145.7,0.6',
    )
    expect(words).toEqual(['Q1A 145.600-0.6MHz', 'Q1B 147.060+0.6MHz'])
    expect(left).toEqual([expect.stringMatching(/^f:4: offset: .*a sign/)])
  })

  it.each([
    ['145.600-', '145.600MHz -'],
    ['145.600 (-0.6)', '145.600-0.6MHz'],
    ['145.600,5', '145.6005MHz'],
    ['438.712.500', '438.7125MHz'],
  ])('an output cell "%s" is %s', (text, shown) => {
    expect(read(`call;output\nQ1A;${text}`).words).toEqual([`Q1A ${shown}`])
  })
})

describe('tones', () => {
  const tone = (text: string) => read(`call,output,offset,tone\nQ1A,145.6,-0.6,"${text}"`)

  it.each([
    ['1750', '1750Hz burst'],
    ['Rufton', '1750Hz burst'],
    ['1750 / 88,5', 'tone 88.5Hz'],
    ['D023I', 'DCS 023 inverted'],
    ['DCS 023 R', 'DCS 023 inverted'],
    ['D023N', 'DCS 023'],
    ['023', 'DCS 023'],
    ['CC 1', 'CC1'],
    ['RAN 3', 'RAN3'],
    ['TSQ 88.5', 'tone 88.5Hz'],
    ['123.0/123.0', 'tone 123Hz'],
  ])('%s is %s', (text, shown) => {
    expect(tone(text).words).toEqual([`Q1A 145.600-0.6MHz ${shown}`])
    expect(tone(text).doubts).toEqual([])
  })

  it.each(['8.85', '3000', 'ask us', '88.5/100', '110 or 123', 'DCS 999'])(
    '%s: the repeater is kept without it, with a warning',
    (text) => {
      expect(tone(text).words).toEqual(['Q1A 145.600-0.6MHz'])
      expect(tone(text).doubts).toHaveLength(1)
    },
  )

  it.each(['100.0 Hz R', '88.4'])('%s is taken, with a warning', (text) => {
    expect(tone(text).words[0]).toMatch(/ tone (100|88\.4)Hz$/)
    expect(tone(text).doubts).toHaveLength(1)
  })

  it('of a radio count by their kind', () => {
    const header = 'name,freq,duplex,offset,tone,rToneFreq,cToneFreq,dtcsCode,dtcsPolarity'
    const { words } = read(
      [
        header,
        'A,145.6,-,0.6,,88.5,88.5,023,NN',
        'B,145.6,-,0.6,Tone,100.0,88.5,023,NN',
        'C,145.6,-,0.6,TSQL,88.5,123.0,023,NN',
        'D,145.6,-,0.6,DTCS,88.5,88.5,047,RN',
      ].join('\n'),
    )
    expect(words).toEqual([
      'A 145.600-0.6MHz',
      'B 145.600-0.6MHz tone 100Hz',
      'C 145.600-0.6MHz tone 123Hz',
      'D 145.600-0.6MHz DCS 047 inverted',
    ])
  })
})

describe('places', () => {
  const at = (header: string, row: string) => {
    const { parsed, left } = read(`call,output,${header}\nQ1A,145.6,${row}`)
    const [entry] = parsed.entries as unknown as { latitudeDeg: number; longitudeDeg: number }[]
    return entry === undefined ? left[0] : [entry.latitudeDeg, entry.longitudeDeg]
  }

  it.each([
    ['lat,lon', '4512.00N,00312.50E', [45.2, 3 + 12.5 / 60]],
    ['lat,lon', '0030.00S,00030.00W', [-0.5, -0.5]],
    ['lat,lon', '451200N,0031230W', [45.2, -(3 + 12.5 / 60)]],
    ['lat,lon', "45°12.0'N,3 12 30 E", [45.2, 3 + 12.5 / 60]],
    ['Breite,Länge', '45.2 N,3.5 O', [45.2, 3.5]],
    ['latitud,longitud', '45.2 N,3.5 O', [45.2, -3.5]],
    ['Breite,Länge', 'Nord 45.2,3.5 West', [45.2, -3.5]],
    ['position', '"N45.2, W3.5"', [45.2, -3.5]],
    ['position', '"45,2 -3,5"', [45.2, -3.5]],
    ['coordinates', `"45°12'00""N 3°30'00""W"`, [45.2, -3.5]],
  ])('under %s: %s', (header, row, expected) => {
    const found = at(header, row) as number[]
    expect(found[0]).toBeCloseTo(expected[0]!, 9)
    expect(found[1]).toBeCloseTo(expected[1]!, 9)
  })

  it('that contradict their locator are refused, and so is an O that may be either', () => {
    expect(at('lat,lon,locator', '45.2,3.5,JN47PE')).toMatch(/f:2: locator: .*agrees with latitude/)
    expect(at('lat,lon', '45.2 N,3.5 O')).toMatch(/E or W in place of O/)
    expect(at('lat,lon', '45.2 N,-3.5 W')).toMatch(/longitude/)
  })
})

describe('rows of one repeater', () => {
  it('in several modes are one entry', () => {
    const { words } = read(
      'call,output,offset,tone,mode\nQ1A,438.7,-7.6,88.5,FM\nQ1A,438.7,-7.6,CC1,DMR\nQ1A,438.7,-7.6,,YSF',
    )
    expect(words).toEqual(['Q1A 438.700-7.6MHz tone 88.5Hz FM/DMR/C4FM'])
  })

  it('that contradict each other are refused but for the first', () => {
    const { words, left } = read(
      'call,output,offset,tone\nQ1A,438.7,-7.6,88.5\nQ1A,438.7,-9.4,88.5\nQ1A,438.7,-7.6,100',
    )
    expect(words).toEqual(['Q1A 438.700-7.6MHz tone 88.5Hz'])
    expect(left).toEqual([
      expect.stringMatching(/^f:3: offset: got another offset for Q1A than line 2/),
      expect.stringMatching(/^f:4: tone: got another tone for Q1A than line 2/),
    ])
  })
})

describe('what is not offered', () => {
  const text = [
    'call,output,use,status,lat,lon',
    'Q1A,145.6,open,on air,45,-36',
    'Q1B,145.7,members only,,45,-36',
    'Q1C,145.75,open,ausser Betrieb,45,-36',
    'Q1D,145.65,,hors service,45,-36',
  ].join('\n')

  it('is kept in the directory, but not told unless asked for', async () => {
    const { parsed } = read(text)
    expect(parsed.entries.map(({ closed, offAir }) => [closed, offAir])).toEqual([
      [undefined, undefined],
      [true, undefined],
      [undefined, true],
      [undefined, true],
    ])
    const index = repeaterIndex(parsed.entries)
    const options = { directory: () => index, rangeM: 4e5, positionAgeMaxMs: 1 }
    const answer = await answerOf(repeatersService(options), '9')
    expect(answer.map((line) => line.slice(0, 3))).toEqual(['Q1A'])
    // Written and read again, it is the same.
    expect(read(formatRepeaters(parsed.entries)).parsed.entries).toEqual(parsed.entries)
  })

  it('repeaters without a place come last, and say so', async () => {
    const { parsed } = read('call,output,lat,lon\nQ1A,145.6,,\nQ1B,145.7,45,-36\n')
    const index = repeaterIndex(parsed.entries)
    const options = { directory: () => index, rangeM: 4e5, positionAgeMaxMs: 1 }
    expect(await answerOf(repeatersService(options), '2')).toEqual([
      expect.stringMatching(/^Q1B 145\.700MHz .*of node; Q1A 145\.600MHz place not known$/),
    ])
  })
})

describe('tables', () => {
  it('begin below titles, count lines from the top, and skip remarks', () => {
    const { words, left } = read(
      'Club list\n\n# of spring\ncall;output\nQ1A;145.6\n# old\n#Q1X;145.6\nQ1B;1\n',
    )
    expect(words).toEqual(['Q1A 145.600MHz'])
    expect(left).toEqual([expect.stringMatching(/^f:8: output/)])
  })

  it('refuse rows that a separator without quotation marks has moved', () => {
    const { words, left } = read('call,name,output,offset\nQ1A,Hill, upper,145.6,-0.6\n')
    expect(words).toEqual([])
    expect(left).toEqual([expect.stringMatching(/^f:2: got 5 cells, expected 4; put cells/)])
  })

  it('never throw, whatever they hold', () => {
    const cell = fc.oneof(
      fc.string({ maxLength: 12, unit: 'binary' }),
      fc.constantFrom('145.6', '-0.6', '+', '88.5', 'D023', 'Q1A', '45.2N', 'O', '1e9', '#', '"'),
    )
    const header = fc.constantFrom(
      'call',
      'output',
      'TX',
      'RX',
      'offset',
      'tone',
      'lat',
      'lon',
      'use',
      'mode',
    )
    const table = fc.tuple(
      fc.array(header, { maxLength: 10 }),
      fc.array(fc.array(cell, { maxLength: 11 }), { maxLength: 6 }),
    )
    fc.assert(
      fc.property(table, ([heads, rows]) => {
        const text = [heads, ...rows].map((cells) => cells.join(';')).join('\n')
        const parsed = parseRepeaters(text)
        if (parsed.ok) expect(parsed.rejectedCount + parsed.entries.length).toBeLessThan(20)
      }),
      { numRuns: 1000, seed: 7 },
    )
  })
})

describe('what cannot be told apart', () => {
  it('is refused with its line: two frequencies in one cell are no offset of 145 kHz', () => {
    const { words, left } = read('call,output\nQ1A,145.6-145.0\nQ1B,438.8-7.6')
    expect(words).toEqual(['Q1B 438.800-7.6MHz'])
    expect(left).toEqual([expect.stringMatching(/^f:2: output: got "145\.6-145\.0"/)])
  })

  it.each(['lon W', 'Longitude West', 'Longitude ouest'])(
    'degrees under "%s" are not taken for degrees east',
    (header) => {
      const { parsed } = read(`call,output,latitude,${header}\nQ1A,145.6,45.1,36.7`)
      expect(parsed.entries[0]).toMatchObject({ longitudeDeg: -36.7 })
    },
  )

  it.each(['lon E/W', 'Longitude (east/west)', 'Longitude'])(
    'under "%s" a sign tells',
    (header) => {
      const { parsed } = read(`call,output,latitude,${header}\nQ1A,145.6,45.1,-36.7`)
      expect(parsed.entries[0]).toMatchObject({ longitudeDeg: -36.7 })
    },
  )
})
