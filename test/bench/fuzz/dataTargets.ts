import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { inEnglish } from '../../../src/words/air/all.js'
import type { Target } from './engine.js'
import { bytes, firstLines, type Load, sample, samples } from './seeds.js'

export async function csvTarget(load: Load): Promise<Target> {
  const { parseRepeaters } = await load<
    typeof import('../../../src/services/repeaters/parseRepeaters.js')
  >('src/services/repeaters/parseRepeaters.ts')
  const { repeaterWords } = await load<typeof import('../../../src/services/repeaters/entry.js')>(
    'src/services/repeaters/entry.ts',
  )
  const { decodeText } = await load<typeof import('../../../src/services/data/decodeText.js')>(
    'src/services/data/decodeText.ts',
  )
  const text = sample('hilltop/repeaters.csv')
  return {
    name: 'csv',
    seeds: [
      firstLines(text, 6),
      bytes('Call;Output;Offset;Tone;Lat;Lon\r\nQ1ABC;145,625;-0,6;88,5;45,2;-36,7\r\n'),
      bytes('name\toutput MHz\tinput kHz\tlocator\nHill\t438.8\t431200\tHM05AA\n'),
      bytes(
        '\xef\xbb\xbf"call","frequency","latitude","longitude"\n"Q1ABC","146.94","45 12 00 N","36 42 00 W"\n',
      ),
    ],
    words: [
      ',',
      ';',
      '\t',
      '"',
      '""',
      '\n',
      '\r\n',
      '\xef\xbb\xbf',
      '\xff\xfe',
      '145.625',
      '-0.6',
      'CTCSS',
      'JO22',
      'N',
      'W',
      ...text.split('\n')[0]!.split(','),
    ],
    run(input) {
      const result = parseRepeaters(decodeText(input))
      if (result.ok) for (const entry of result.entries) repeaterWords(entry, 43, inEnglish)
    },
  }
}

export async function elementsTarget(load: Load): Promise<Target> {
  const { elementSets, formOfElements } = await load<
    typeof import('../../../src/services/sky/parseElements.js')
  >('src/services/sky/parseElements.ts')
  const { lookAt } = await load<typeof import('../../../src/services/sky/look.js')>(
    'src/services/sky/look.ts',
  )
  const { decodeText } = await load<typeof import('../../../src/services/data/decodeText.js')>(
    'src/services/data/decodeText.ts',
  )
  const two = sample('hilltop/elements.txt')
  const fields = [
    'OBJECT_NAME',
    'EPOCH',
    'MEAN_MOTION',
    'ECCENTRICITY',
    'INCLINATION',
    'RA_OF_ASC_NODE',
    'ARG_OF_PERICENTER',
    'MEAN_ANOMALY',
    'NORAD_CAT_ID',
    'BSTAR',
    'MEAN_MOTION_DOT',
    'MEAN_MOTION_DDOT',
    'ELEMENT_SET_NO',
    'REV_AT_EPOCH',
    'CLASSIFICATION_TYPE',
    'EPHEMERIS_TYPE',
    'OBJECT_ID',
  ]
  const values = [
    'DEMO',
    '2026-11-28T00:00:00.000000',
    '15.5',
    '.0006703',
    '51.6',
    '10.0',
    '130.5',
    '325.0',
    '99999',
    '.0001',
    '0',
    '0',
    '1',
    '1',
    'U',
    '0',
    '1998-067A',
  ]
  const pairs = fields.map((field, at) => [field, values[at]!] as const)
  const observer = { latitudeDeg: 45.2, longitudeDeg: -36.7, heightM: 100 }
  return {
    name: 'elements',
    seeds: [
      firstLines(two, 6),
      Buffer.from(
        `CCSDS_OMM_VERS = 2.0\n${pairs.map(([name, value]) => `${name} = ${value}`).join('\n')}\n`,
      ),
      Buffer.from(JSON.stringify([Object.fromEntries(pairs)])),
      Buffer.from(`${fields.join(',')}\n${values.join(',')}\n`),
      Buffer.from(
        `<?xml version="1.0"?><ndm><omm><body><segment><data><meanElements>${pairs.map(([name, value]) => `<${name}>${value}</${name}>`).join('')}</meanElements></data></segment></body></omm></ndm>`,
      ),
    ],
    words: [
      ...fields,
      '1 25544U',
      '2 25544',
      '\n',
      '00000-0',
      '<omm>',
      '</omm>',
      '<!--',
      '-->',
      '<![CDATA[',
      '&amp;',
      '{',
      '[',
      '"',
      '1e-400',
      '.99999999',
    ],
    run(input) {
      const text = decodeText(input)
      let looked = 0
      for (const one of elementSets(text, formOfElements(text))) {
        if ('expected' in one) continue
        if (looked++ < 3) lookAt(one, observer, 1_795_000_000_000)
      }
    },
  }
}

export async function cardsTarget(load: Load): Promise<Target> {
  const { parseMarkdownCards, parseCsvCards } = await load<
    typeof import('../../../src/services/cards/parseCards.js')
  >('src/services/cards/parseCards.ts')
  const { cardIndex } = await load<typeof import('../../../src/services/cards/cardIndex.js')>(
    'src/services/cards/cardIndex.ts',
  )
  const { decodeText } = await load<typeof import('../../../src/services/data/decodeText.js')>(
    'src/services/data/decodeText.ts',
  )
  const folder = join(samples, 'hilltop/cards')
  const files = readdirSync(folder).map((file) => readFileSync(join(folder, file), 'utf8'))
  return {
    name: 'cards',
    seeds: [
      ...files.map((text) => firstLines(text, 12)),
      bytes('title,text,keywords\nWater,At the spring,water drink\n'),
    ],
    words: [
      '# ',
      '## ',
      '\n',
      '<!--',
      '-->',
      '```',
      '---',
      'keywords:',
      '*',
      '[',
      '](',
      ' '.repeat(60),
      '\t',
      '|',
      '\u00e4',
    ],
    run(input) {
      const text = decodeText(input)
      for (const { entries } of [parseMarkdownCards(text, 'a.md'), parseCsvCards(text, 'a.csv')]) {
        const index = cardIndex(entries)
        index.search('water at the hut')
      }
    },
  }
}

export async function weatherTarget(load: Load): Promise<Target> {
  const { parseReading } = await load<typeof import('../../../src/services/weather/reading.js')>(
    'src/services/weather/reading.ts',
  )
  const { weatherWords } = await load<typeof import('../../../src/services/weather/words.js')>(
    'src/services/weather/words.ts',
  )
  return {
    name: 'weather',
    seeds: [
      bytes(
        '$WIMWV,045.1,R,10.5,N,A\r\n$WIMDA,29.9,I,1.013,B,12.3,C,,,65.0,,5.9,C,45.0,T,,M,10.5,N,5.4,M\r\n',
      ),
      bytes(
        '$WIXDR,C,12.3,C,AIR,P,1.013,B,BARO,H,65.0,P,HYG\r\n$WIMTA,12.3,C\n$WIMHU,65.0,,5.9,C\n$WIMMB,29.9,I,1.013,B',
      ),
      bytes('{"temperatureC":12.3,"windSpeedMps":4,"windDirectionDeg":180,"humidityPercent":65}'),
      bytes('temperatureC = 12.3\nwindSpeedMps: 4\npressureHpa = 1013.2\n'),
    ],
    words: [
      'temperatureC',
      'temp',
      'windDirectionDeg',
      'windSpeedMps',
      'gust',
      'rain1h',
      'humidityPercent',
      'pressure',
      ' inHg',
      ' °F',
      '"value":',
      '"unit":',
      ' = ',
      ':',
      '\n',
      '$WIXDR,',
      '$WIMWD,',
      '$WIMDA,',
      ',C,',
      ',H,',
      '*00',
      'null',
      '[]',
      '{}',
      '"__proto__":{',
    ],
    run(input) {
      const { figures } = parseReading(Buffer.from(input).toString('utf8'))
      for (const [field, value] of Object.entries(figures))
        if (!Number.isFinite(value)) throw new Error(`${field} is ${value}`)
      weatherWords(figures, 'km', inEnglish)
      weatherWords(figures, 'miles', inEnglish)
    },
  }
}
