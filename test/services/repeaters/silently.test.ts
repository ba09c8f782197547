import { describe, expect, it } from 'vitest'
import { describeRejected, describeWarned } from '../../../src/services/data/rejected.js'
import { isPlaced, repeaterWords } from '../../../src/services/repeaters/entry.js'
import { parseRepeaters } from '../../../src/services/repeaters/parseRepeaters.js'
import { inEnglish } from '../../../src/words/air/all.js'

/** Layouts that were once taken wrongly without a word. The repeaters and their places are invented. */
const read = (header: string, ...rows: string[]) => {
  const parsed = parseRepeaters([header, ...rows].join('\n'))
  if (!parsed.ok) throw new Error(`${parsed.got}; ${parsed.expected}`)
  return {
    parsed,
    words: parsed.entries.map((entry) => repeaterWords(entry, 67, inEnglish)),
    places: parsed.entries.map((one) =>
      isPlaced(one) ? [one.latitudeDeg, one.longitudeDeg] : 'none',
    ),
    left: parsed.rejected.map((one) => describeRejected('f', one)),
    doubts: parsed.warned.map((one) => describeWarned('f', one)),
  }
}

describe('the side that a header names', () => {
  it.each([
    'Longitude (ouest)',
    'Longitude (W)',
    'Longitude [West]',
    'Länge West',
    'westl. Länge',
    'Westlänge',
    'longitud oeste',
    'Longitudine (ovest)',
    'lon W',
    'LON_W',
    'lonW',
  ])('"%s" is degrees west, with a minus sign, a W or neither', (header) => {
    const { places, doubts } = read(
      `call;output;latitude;${header}`,
      'Q1A;145.6;45,25;36,70',
      'Q1B;145.7;45,25;36,70 W',
      "Q1C;145.75;45,25;36°42'",
    )
    expect(places).toEqual([45.25, 45.25, 45.25].map((lat) => [lat, expect.closeTo(-36.7, 9)]))
    expect(doubts).toEqual([])
    expect(read(`call;output;latitude;${header}`, 'Q1A;145.6;45,25;-36,70').places).toEqual([
      [45.25, -36.7],
    ])
  })

  it.each(['Latitude (sud)', 'Breite Süd', 'latitud sur', 'Lat S', 'südliche Breite'])(
    '"%s" is degrees south',
    (header) => {
      expect(read(`call;output;${header};longitude`, 'Q1A;145.6;45,25;36,70').places).toEqual([
        [-45.25, 36.7],
      ])
    },
  )

  it('west and south in one column of positions hold, too', () => {
    const { places } = read('call;output;Position (lat N, lon W)', 'Q1A;145.6;45.25, 36.70')
    expect(places).toEqual([[45.25, -36.7]])
  })

  it('a cell that says the other side is taken by its own letter, with a warning', () => {
    const { places, doubts } = read(
      'call;output;latitude;Longitude (ouest)',
      'Q1A;145.6;45,25;36,70 E',
    )
    expect(places).toEqual([[45.25, 36.7]])
    expect(doubts).toEqual([
      expect.stringMatching(/^f:2: longitude: got "36,70 E": .*header.* W.*taken as E/),
    ])
  })

  it('figures without a minus among others with one are warned about', () => {
    const { places, doubts } = read(
      'call;output;latitude;Longitude (W)',
      'Q1A;145.6;45,25;-36,70',
      'Q1B;145.7;45,25;8,5',
    )
    expect(places).toEqual([
      [45.25, -36.7],
      [45.25, -8.5],
    ])
    expect(doubts).toEqual([expect.stringMatching(/^f:3: longitude: .*minus/)])
  })

  it.each(['lon E/W', 'Longitude (west negative)', 'Longitude (W-)', 'Länge Ost/West', 'lon'])(
    'under "%s" the sign tells',
    (header) => {
      const rows = ['Q1A;145.6;45,25;-36,70', 'Q1B;145.7;45,25;8,5']
      const { places, doubts } = read(`call;output;latitude;${header}`, ...rows)
      expect(places).toEqual([
        [45.25, -36.7],
        [45.25, 8.5],
      ])
      expect(doubts).toEqual([])
    },
  )

  it('O is Ost or oeste as the other headers are; what cannot be told is refused', () => {
    const at = (header: string) => read(header, 'Q1A;145.6;45,25;36,70')
    expect(at('Rufzeichen;Ausgabe;Breite;Länge (O)').places).toEqual([[45.25, 36.7]])
    expect(at('indicativo;salida;latitud;longitud (O)').places).toEqual([[45.25, -36.7]])
    expect(at('call;output;latitude;longitude (O)').left).toEqual([
      expect.stringMatching(/^f:2: longitude: .*E or W in place of O/),
    ])
  })
})

describe('two columns for one thing', () => {
  it.each(['frequency', 'Frequenz', 'freq', 'QRG'])(
    '"%s" twice: output and input by what is usual, and it is said',
    (header) => {
      for (const [one, other] of [
        ['146.94', '146.34'],
        ['146.34', '146.94'],
      ]) {
        const { words, doubts } = read(`call,${header},${header}`, `Q1A,${one},${other}`)
        expect(words).toEqual(['Q1A 146.940-0.6MHz'])
        const [output, input] = one === '146.94' ? [2, 3] : [3, 2]
        expect(doubts[0]).toMatch(/^f:1: output: got the columns /)
        expect(doubts[0]).toContain(`column ${output} is taken as the output`)
        expect(doubts[0]).toContain(`column ${input} as the input`)
      }
    },
  )

  it('"Frequency 1" and "Frequency 2" are told apart by the signs of the list', () => {
    const { words } = read('call,Frequency 1,Frequency 2,duplex', 'Q1A,447.0,442.0,-')
    expect(words).toEqual(['Q1A 447.000-5.0MHz'.replace('5.0', '5')])
  })

  it.each([
    ['442.0,447.0', 'either may be the output'],
    ['145.6,438.7', 'two bands are no offset'],
    ['145.6,88', 'a channel number is no frequency'],
  ])('%s: %s: refused, and both are named', (cells) => {
    const parsed = parseRepeaters(`call,frequency,Freq.\nQ1A,${cells}`)
    expect(parsed).toMatchObject({
      ok: false,
      got: expect.stringMatching(/"frequency" \(column 2\) and "Freq\." \(column 3\)/),
      expected: expect.stringMatching(/--map output=HEADER/),
    })
  })

  it('that say the same, or nothing, are one', () => {
    for (const cells of ['145.6,145.600', '145.6,145600 kHz', '145.6,']) {
      const { words, doubts } = read('call,frequency,frequency,offset', `Q1A,${cells},-0.6`)
      expect(words).toEqual(['Q1A 145.600-0.6MHz'])
      expect(doubts.filter((one) => !/no place/.test(one))).toEqual([])
    }
  })

  it.each([
    ['output,offset,offset', '145.6,-0.6,-1.6'],
    ['output,tone,tone', '145.6,88.5,100'],
    ['output,latitude (deg),latitude (min),longitude (deg)', '145.6,45,12.5,-36'],
    ['output,frequency', '145.6,145.0'],
  ])('%s: the one that is not used is named', (header, cells) => {
    const { doubts } = read(`call,${header}`, `Q1A,${cells}`)
    expect(doubts[0]).toMatch(/^f:1: .*column \d .*not used/)
  })
})

describe('outside the amateur bands', () => {
  it.each(['1456', '161.4', '88', '155.0', '2500', '6000'])(
    '%s MHz is kept, with its line',
    (text) => {
      const { words, doubts } = read('call,output', `Q1A,${text}`)
      expect(words).toHaveLength(1)
      expect(doubts[0]).toMatch(/^f:2: output: got .*no amateur band/)
    },
  )

  it.each([
    '29.66',
    '51.81',
    '145.6',
    '224.1',
    '438.7',
    '927.5',
    '1298',
    '2320',
    '3400',
    '5760',
    '10368',
  ])('%s MHz is in one', (text) => {
    expect(read('call,output', `Q1A,${text}`).doubts.join()).not.toMatch(/amateur band/)
  })

  it('an input there is told, too, and so is one in another band', () => {
    const { doubts } = read('call,output,input', 'Q1A,145.6,139.6', 'Q1B,145.65,438.7')
    expect(doubts[0]).toMatch(/^f:2: input: .*139\.6 MHz.* no amateur band/)
    expect(doubts[1]).toMatch(/^f:3: input: .*another band/)
  })
})

describe('TX and RX with their tones', () => {
  it('say whose they were taken for', () => {
    const { parsed, words, doubts } = read(
      'call,TX,RX,tone TX,tone RX',
      'Q1A,145.6,145.0,67.0,88.5',
    )
    expect(words).toEqual(['Q1A 145.600-0.6MHz tone 88.5Hz'])
    expect(doubts[0]).toMatch(/^f:1: .*"TX", "RX", "tone TX", "tone RX".*the repeater's/)
    expect(parsed.meanings[4]).toMatch(/opens the repeater.*seen from the repeater/)
  })

  it('and so from the user', () => {
    const { words, doubts } = read('call,TX,RX,tone TX,tone RX', 'Q1A,145.0,145.6,67.0,88.5')
    expect(words).toEqual(['Q1A 145.600-0.6MHz tone 67Hz'])
    expect(doubts[0]).toMatch(/^f:1: .*the user's/)
  })
})

describe('a column whose header is not known', () => {
  it.each([
    ['output,Zauberwort', '145.6,88.5', 'tone', 'tones'],
    ['output,Zauberwort', '145.6,145.0', 'input', 'inputs'],
    ['output,Zauberwort', '145.6,-0.6', 'offset', 'offsets'],
  ])('%s with %s: what it looks like is told', (header, cells, field, what) => {
    const { doubts } = read(`call,${header}`, `Q1A,${cells}`)
    expect(doubts[0]).toContain(
      `f:1: ${field}: got the column "Zauberwort" (column 3): looks like ${what}`,
    )
    expect(doubts[0]).toContain(`--map ${field}=3`)
  })

  it('is not named for heights, powers, years and gains', () => {
    const { doubts } = read(
      'call,output,offset,tone,height,watts,updated,gain',
      'Q1A,145.6,-0.6,88.5,1200,100,2024,-3.5',
    )
    expect(doubts.filter((one) => !/no place/.test(one))).toEqual([])
    expect(read('call,output,height,watts,updated', 'Q1A,145.6,146,100,2024').doubts).toHaveLength(
      1,
    )
  })

  it('"Subtoon" and "Sub" with tones below are tones', () => {
    for (const header of ['Subtoon', 'Sub'])
      expect(read(`call,output,${header}`, 'Q1A,145.6,88.5').words).toEqual([
        'Q1A 145.600MHz tone 88.5Hz',
      ])
  })
})
