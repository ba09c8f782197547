import { afterEach, expect, it } from 'vitest'
import type { SignalQuality } from '../../../dsp/modem/receivedFrame.js'
import { reservedKeywords } from '../../../src/services/all.js'
import { type MarkedStation, markedStation } from './markedStation.js'

/** All but the texts of the language: what people, files and standards give, and what is never translated. */
const given: readonly RegExp[] = [
  // Position, symbol and time of a report (APRS Protocol Reference 1.0.1, chapters 6 and 11).
  /\d{4}\.\d\d[NS].\d{5}\.\d\d[EW]./g,
  /^;.{9}\*\d{6}z/g,
  // What the operator and other people wrote, and names out of files.
  /zz[\w.@]*|\bCHECK9\b/gi,
  // Call signs and locators; the modes, units and abbreviations of the trade.
  /\b[NQ]\d[A-Z]{2,4}(-\d{1,2})?\b/g,
  /\b[A-R]{2}\d{2}([a-x]{2})?\b/g,
  /\b(FM|UTC|GPS)\b/g,
  /(?<=\d)(MHz|hPa|mm|km\/h|km|cm|C|dB|dBFS)\b/g,
  /\b(az|el)(?=\d)/g,
  // Words of a call for help, in the report of it.
  /\b(SOS|sos|EMERGENCY)\b/g,
  // Replies that the reference prints so (chapter 15).
  /^Directs=|\bHEARD:|APZ\w+/g,
  // What a person is told that he sent.
  /"[^"]*"/g,
  // Keywords, as they are sent.
  new RegExp(
    `\\b(${[...reservedKeywords, 'hold', 'release', 'state', 'tactical'].join('|')})\\b`,
    'g',
  ),
]

/** What is left of a payload that was in no text of the language. */
function strange(payload: string): string {
  const [, text = payload] = /^:[^:]{9}:(.*)$/.exec(payload) ?? []
  const left = given.reduce((rest, one) => rest.replace(one, ' '), text)
  return (left.match(/[A-Za-z]{2,}/g) ?? []).filter((word) => !/^x+$/i.test(word)).join(' ')
}

let station: MarkedStation

const opened: MarkedStation[] = []
afterEach(async () => {
  for (const one of opened.splice(0)) await one.close()
})
const open = async (...change: Parameters<typeof markedStation>): Promise<void> => {
  station = await markedStation(...change)
  opened.push(station)
}

/** Asks all of it, and has nothing said in other words; each is answered. */
async function allMarked(questions: readonly (string | readonly [from: string, text: string])[]) {
  for (const one of questions) {
    const [from, text] = typeof one === 'string' ? ['N0CALL-7', one] : one
    const sent = await station.ask(text, from)
    expect(sent, text).not.toEqual([])
    expectMarked(sent, text)
  }
}
const expectMarked = (sent: readonly string[], after: string): void =>
  expect(
    sent.filter((one) => strange(one) !== ''),
    after,
  ).toEqual([])

const heardPlaces = (): void => {
  for (const call of ['N0CALL-7', 'Q1ABC-7', 'Q1DEF-7', 'Q2DEF'])
    station.hear(`${call}>APZ001:!4515.00N/03642.00W-zzhere`)
  station.hear('Q1WX>APZ001:!4515.50N/03642.00W_220/004g005t077r001p002P003h50b09900')
  station.hear('Q1ABC-7>APZ001:;ZZOBJECT *211600z4515.00N/03642.00W-zzobject')
  station.hear('Q1ABC-7>APZ001::BLN1     :zzbulletin')
}

it('marks what is not of the language', () => {
  expect(strange(':N0CALL-7 :Xxxx 7 xxxx xxx Q2DEF, 12km away')).toBe('away')
  expect(strange(':N0CALL-7 :EXERCISE Xxxx zztext')).toBe('EXERCISE')
})

it('questions about places, sky, weather, stations and topics', async () => {
  await open()
  heardPlaces()
  await allMarked([
    ...['help', 'help heard', 'help name', 'help roll', 'help confirmed', 'help p', 'help pass'],
    ...['repeaters 2', 'repeaters zzhut', 'repeaters', 'repeaters 2 70cm', 'repeaters 99'],
    ...['conditions', 'conditions Q1ABC-7', 'conditions Q1WX', 'conditions zzhut'],
    ...['pass', 'pass next', 'pass all', 'pass zzlark', 'pass zzfieldlark', 'pass zzlong'],
    ...['pass zzharvester 23', 'sun', 'sun moon', 'sun 24', 'sun zzhut', 'sun moon 24'],
    ...['heard', 'heard 3', 'heard Q1ABC-7', 'heard Q9AAA', 'heard N0CALL-10', 'heard zz zz'],
    ...['where Q1ABC-7', 'where me', 'where', 'where Q9AAA', 'where N0CALL-10', 'where zz zz'],
    ...['signal', 'find', 'find zzlost', 'find zzother', 'clock', 'bulletins'],
    ...['bulletins objects', 'bulletins 3', 'xyzzy', 'hold', '73'],
    ...['?APRSD', '?APRSH Q9AAA', '?APRSH Q1ABC-7', '?APRST', '?APRSM', '?APRSS', '?APRSP'],
    ...['?APRSO', '?PING?'],
    ...([
      ['Q8NEW', 'repeaters 2'],
      ['Q8NEW', 'where me'],
      ['Q8NEW', 'heard'],
    ] as const),
    ...([
      ['Q8NEW', 'sun'],
      ['Q8NEW', 'conditions'],
      ['Q8NEW', '?APRSD'],
    ] as const),
  ])
  expectMarked(await station.wait(3700), 'beacons')
}, 120_000)

it('the signal of who asks, whatever is wrong with it', async () => {
  await open()
  const quality = {
    ...{ levelDbfs: -14, toneBalanceDb: 1, toneOffsetHz: 12, symbolRateErrorPpm: 50, ebN0Db: 21 },
    ...{ clippedShare: 0, preambleFlags: 40, eyeOpening: 0.8, bitRate: 1200 },
  } as unknown as SignalQuality
  const wrong: readonly Partial<SignalQuality>[] = [
    ...[{}, { clippedShare: 0.1 }, { levelDbfs: -1 }, { levelDbfs: -40 }, { toneBalanceDb: -14 }],
    ...[{ toneBalanceDb: 14 }, { toneOffsetHz: 150 }, { symbolRateErrorPpm: 9000 }, { ebN0Db: 3 }],
    ...[{ preambleFlags: 2 }, { bitRate: 9600, toneBalanceDb: 9 } as never],
  ]
  for (let other = 0; other < 5; other++) station.hear(`Q3AA${'ABCDE'[other]}>APZ001:>zz`, quality)
  for (const [index, one] of wrong.entries()) {
    const from = `Q4AA${'ABCDEFGHIJK'[index]}`
    station.hear(`${from}>APZ001:>zz`, { ...quality, ...one })
    await allMarked([[from, 'signal']])
  }
}, 60_000)

it('messages that are left, taken back, collected and forgotten; the board', async () => {
  await open()
  heardPlaces()
  await allMarked([
    ...['leave', 'leave Q1ABC-7', 'leave Q2DEF zztext', 'leave Q2DEF zzmore', 'leave zzz'],
    ...[
      'leave Q2DEF-2 zztext',
      'leave Q2DEF zzfull',
      `leave Q2DEF ${'zz'.repeat(29)}`,
      'leave zz zz',
    ],
    ...['mail', 'mail cancel', 'mail cancel 1', 'mail cancel 9', 'mail all', 'collect', 'reply'],
    ...['reply zztext', 'board', 'post', 'post zznotice', 'board', `post ${'zz'.repeat(29)}`],
    ...['post zztwo', 'post zzthree', 'post zzfour', 'board 6'],
  ])
  expectMarked(await station.wait(200), 'a word that something waits')
  station.hear('Q2DEF>APZ001:>zzhere')
  expectMarked(await station.wait(60), 'a word that something waits')
  await allMarked([['Q2DEF', 'collect'], ['Q2DEF', 'reply zzthanks'], 'collect', 'mail'])
  expectMarked(await station.wait(7.5 * 86_400, 1800), 'what has expired')
}, 120_000)

it('watches, and mail to addresses outside', async () => {
  await open()
  heardPlaces()
  await allMarked([
    ...['back', 'back 20:00 Q1ABC-7', 'back 3h', 'back off', 'back 1min Q1ABC-7', 'back zz'],
    ...[
      'back 3h Q1ABC-7',
      'back',
      'tell',
      'tell Q3DEF',
      'tell Q3GHK',
      'tell zzz',
      'tell N0CALL-10',
    ],
    ...[
      'name',
      'name zzmum',
      'name zzmum zz@zz.example',
      'name zzmum',
      'name',
      'name Q1ABC zz@zz.zz',
    ],
    ...['name zzmum zz', 'leave zzmum', 'leave zzmum zztext', 'leave zz@other.example zztext'],
    ...['leave zz@zz zztext', 'mail'],
    ...([['Q1DEF-7', 'leave zz@zz.example zztext']] as const),
  ])
  station.hear('Q3DEF>APZ001:>zzhere')
  expectMarked(await station.wait(4 * 3600, 60), 'who is heard, who is overdue')
  expectMarked(
    await station.wait(7.5 * 86_400, 1800),
    'who was not heard, and mail that found no link',
  )
}, 120_000)

it('an event and the board during it', async () => {
  await open()
  heardPlaces()
  await allMarked([
    ...['roll', 'roll ZZALLMEN', 'confirmed', 'leave ZZONE', 'leave ZZONE zztext'],
    ...['leave ZZFREE zztext', 'leave CHECK9 zztext', 'heard ZZONE', 'where ZZFREE', 'tell ZZTWO'],
    ...([
      ['Q1NET-1', 'leave ZZALLMEN zztext'],
      ['Q1NET-1', 'confirmed'],
    ] as const),
    ...([
      ['Q1NET-1', 'leave ZZONE,CHECK9 zztext'],
      ['Q1ABC-7', 'collect'],
    ] as const),
    ...([
      ['Q1DEF-7', 'collect'],
      ['Q1NET-1', 'confirmed'],
      ['Q1NET-1', 'mail'],
    ] as const),
    ...([
      ['Q1NET-1', `leave ZZONE ${'zz'.repeat(29)}`],
      ['Q1NET-1', 'roll'],
    ] as const),
  ])
  expectMarked(await station.wait(9 * 3600, 60), 'the event is over')
  await allMarked(['board', 'help board', 'help roll', 'roll', 'confirmed'])
}, 120_000)

it('control by radio, alerts, and calls for help', async () => {
  await open()
  heardPlaces()
  const { code } = station
  const operator = (text: string) => ['Q1OPS-7', text] as const
  await allMarked([
    ...['help hold', 'help release', 'help state', 'help tactical', 'hold', 'tactical'].map(
      operator,
    ),
    ...['hold 12345678', 'state', 'release', 'tactical ZZFREE Q7AAA'].map(operator),
    operator(`state ${code()}`),
    operator(`tactical ZZFREE Q7AAA ${code()}`),
    operator(`tactical ZZFREE zzz ${code()}`),
    operator(`hold 30m ${code()}`),
  ])
  const whileHeld = await station.wait(1500)
  expect(whileHeld.join()).toMatch(/zzheld/)
  expect(whileHeld.join()).toMatch(/zzsilent/)
  expectMarked(whileHeld, 'held by radio')
  for (const source of ['operator', 'file', 'input', 'key line', 'audio output', 'modem', 'zz']) {
    station.port.hold(source, 'for a reason in English')
    await allMarked([operator(`state ${code()}`)])
    station.port.release(source)
  }
  await allMarked([operator(`hold ${code()}`), operator(`release ${code()}`)])
  await allMarked([
    ['Q1ABC-7', 'SOS zzleg'],
    ['Q8NEW', 'sos'],
    ['Q8NEW-2', 'sos zzdrill'],
  ])
  station.hear('Q5HLP>APZ001:!4515.00N/03642.00W-EMERGENCY')
  const told = await station.wait(900)
  expect(told.join()).toMatch(/zzhelp/)
  expectMarked(told, 'alerts')
}, 120_000)

it('over a connection', async () => {
  await open()
  heardPlaces()
  await allMarked([['Q2DEF', 'leave Q5PCX zztext']])
  const lines = await station.connected('Q5PCX', [
    ...[
      'help',
      'letters',
      'letter',
      'letter zz',
      'letter Q2DEF zzsubject',
      'zztext',
      '.',
      'letter Q5PCX',
    ],
    ...[
      'zzsubject',
      '/drop',
      'letter Q5PCX zzsubject',
      '.',
      'letter Q5PCX zzsubject',
      'zztext',
      '.',
    ],
    ...['letters', 'read 2', 'read', 'read 9', 'erase 2', 'collect', 'collect', 'heard', 'xyzzy'],
    ...['sun', 'z'.repeat(600), 'bye'],
  ])
  expect(lines.length).toBeGreaterThan(30)
  expectMarked(lines, 'a connection')
}, 120_000)

it('who gets no answer is told so', async () => {
  await open((config) => config.replace('questionsPerStation = 1000', 'questionsPerStation = 2'))
  const sent: string[] = []
  for (let asked = 0; asked < 5; asked++)
    sent.push(...(await station.ask(`heard ${asked}{A${asked}`)))
  expect(sent.length).toBeGreaterThan(4)
  expectMarked(
    sent.map((one) => one.replace(/:(ack|rej)\w+$/, ':')),
    'too many questions',
  )
}, 60_000)
