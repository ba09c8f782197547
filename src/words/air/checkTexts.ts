import { english } from './english/all.js'
import type { AirTexts, TextName } from './texts.js'
import { bracesIn, type Wording } from './wording.js'

/** Octets of a message's text (APRS Protocol Reference 1.0.1, chapter 14). */
const messageOctetsMax = 67

type Fill = Readonly<Record<string, string>>

/** What the braces are filled with at the longest that the data allow; what is longer than a message anyway is left empty. */
function longestFill({ say, find, listed }: Wording): Fill {
  const longer = (...texts: readonly string[]): string =>
    texts.reduce((most, one) => (octetsOf(one) > octetsOf(most) ? one : most))
  const allOf = (name: 'months' | 'weekdays', count: number): string[] =>
    Array.from({ length: count }, (_, at) => listed(name, at))
  const plain = (...names: readonly TextName[]): string =>
    longer(...names.map((name) => find(name) ?? ''))
  const age = longer(
    ...[say('minutes', { count: 99 }), say('hours', { count: 47 }), say('days', { count: 3650 })],
  )
  const ago = say('ago', { age })
  const day = say('dayAndMonth', { day: 30, month: longer(...allOf('months', 12)) })
  const place = 'twenty letters place'
  return {
    ...{ call: 'N0CALL-15', via: 'N0DIGI-15', keyword: 'twelve-char1', word: 'fourteenlett..' },
    ...{ group: 'GROUP', name: 'SIXTEEN-LETTER-S', path: 'N0DIGI-15,N0DIGI-14', age, ago, day },
    ...{ count: '1000', most: '57', hours: '999', minutes: '60', percent: '100', degrees: '359' },
    ...{ month: '', day2: '30', month2: '12', year: '2026', time: '23:59', utc: '23:59:59' },
    ...{ zone: 'UTC+5:45', ebN0: '-10', level: '-99', balance: '-14', offset: '-150' },
    ...{ hz: '254.1', code: '754', elevation: '60', locator: 'HN15pf', mhz: '10450.25', place },
    kept: longer(say('manyHours', { count: 47 }), say('manyDays', { count: 99 })),
    heard: longer(
      ...[find('heardDirect') ?? '', say('heardDirectWith', { ebN0: -10 })],
      say('heardVia', { via: 'N0DIGI-15' }),
    ),
    limit: say('days', { count: 365 }),
    span: longer(plain('within2Days', 'withinADay', 'today', 'tomorrow'), say('onDay', { day })),
    trend: plain('waxing', 'waning'),
    quarter: plain('newMoon', 'firstQuarter', 'fullMoon', 'lastQuarter'),
    ...{ speed: '199km/h', amount: '99.9mm', distance: '20004km', look: 'el90 az359' },
    ...{ date: '31.12.2026', source: plain('timeNotChecked', 'timeByGps', 'timeWrong') },
    reason: plain(
      'noTopicsReason',
      'noDirectoryReason',
      'noElementsReason',
      'oldElementsReason',
      'noWeatherReason',
    ),
    who: say('andOperator', { call: 'N0CALL-15' }),
    kind: say('repeaterOf', { filter: '70cm D-STAR' }),
    ...{ filter: '70cm D-STAR', example: 'pass next HN15pf', examples: 'help, repeaters' },
    ...{ what: '', list: '', names: '', titles: '', title: '', times: '', weather: '' },
    ...{ change: '99.9hPa/3h', least: '-40.1C', greatest: '-30.1C', until: 'Mon 23:59' },
    ...{ usual: 'tactical NAME CALL', usage: 'tactical NAME CALL CODE', total: '200' },
    ...{ id: '999999', done: '99' },
    ...{ to: 'a.twenty.letters@x..', why: '550', text: '' },
    ...{ figures: '', around: '', from: '', at: '', full: day, new: day },
  }
}

/** Where a brace holds something else than elsewhere. */
const fillOf: Readonly<Partial<Record<TextName, (wording: Wording) => Fill>>> = {
  emailDay: () => ({ count: '10000' }),
  // connected.lettersPerStation
  lettersFor: () => ({ count: '100' }),
  yourLetters: () => ({ count: '100' }),
  emailLong: () => ({ most: '9000' }),
  clockTime: () => ({ time: '23:59:59' }),
  clockTimeUtc: () => ({ time: '23:59:59' }),
  backSet: ({ say }) => ({ span: say('minutes', { count: 99 }), from: '+99min', time: '23:59' }),
  backStands: ({ say }) => ({ span: say('minutes', { count: 99 }) }),
  cannotAnswer: ({ find }) => ({
    ...{ keyword: 'repeaters', reason: find('noDirectoryReason') ?? '' },
  }),
  doesNotRise: ({ find }) => ({ place: find('atYourPlace') ?? '' }),
  nodeInBy: () => ({ source: 'GPS' }),
  bySource: () => ({ source: 'GPS' }),
  helpList: () => ({ example: 'repeaters' }),
  noneNear: ({ find }) => ({ place: find('ofYou') ?? '' }),
  seen: ({ find }) => ({ from: find('fromYou') ?? '', source: find('invented') ?? '' }),
  seenDownlink: () => ({ source: '', zone: '' }),
  controlNot: ({ say }) => ({ reason: say('nameBad', { word: 'twelve-char1' }) }),
  controlHolding: ({ find }) => ({ until: find('controlUntilReleased') ?? '' }),
  controlHoldingLost: ({ find }) => ({ until: find('controlUntilReleased') ?? '' }),
  controlFor: ({ say }) => ({ span: say('minutes', { count: 99 }) }),
  alertIs: () => ({ name: 'SIXTEEN-LETTER-S' }),
  eventNotKept: ({ say }) => ({ reason: say('eventNoSuchName', { word: 'twelve-char1' }) }),
  eventKeptFor: () => ({ who: 'CHECKPT99 (N0CALL-15)' }),
  eventWhatText: () => ({ to: 'CHECKPT99' }),
  eventKeptUntilHeld: () => ({ name: 'CHECKPT99' }),
  eventPresent: () => ({ minutes: '1440', count: '200' }),
  eventConfirmed: () => ({ count: '200', text: 'sixteen letters ..' }),
  eventOnlyDuring: () => ({ keyword: 'twelve-char1' }),
  noWeather: ({ say }) => ({ around: say('within', { distance: '20004km' }) }),
}

const octetsOf = (text: string): number => new TextEncoder().encode(text).length

/** Of these the English text, too, is more than one message at its longest, or what is put in is as long as it likes. */
const split: ReadonlySet<string> = new Set<TextName>([
  ...(['keptAmong', 'elementsOld', 'elementsAhead'] as const),
  // A line of a connection is as long as it likes.
  'letterText',
])

const lists: Readonly<Partial<Record<TextName, number>>> = { months: 12, weekdays: 7, compass: 16 }

/** What is wrong with a translation of one text; undefined where nothing is. @param wording of its language */
function textProblem(name: string, text: string, wording: Wording): string | undefined {
  if (!Object.hasOwn(english, name)) return 'there is no text of this name'
  const original = english[name as TextName]
  const expected = [...new Set(bracesIn(original))].sort()
  const given = [...new Set(bracesIn(text))].sort()
  const missing = expected.filter((one) => !given.includes(one))
  const surplus = given.filter((one) => !expected.includes(one))
  if (surplus.length > 0) return `{${surplus[0]}} means nothing here: ${rightBraces(expected)}`
  if (missing.length > 0) return `{${missing[0]}} is left out: ${rightBraces(expected)}`
  const count = lists[name as TextName]
  if (count !== undefined && text.split(',').length !== count)
    return `got ${text.split(',').length} words with commas between them, expected ${count}`
  if (name === 'decimalSign') return /^[.,]$/.test(text) ? undefined : 'expected "." or ","'
  if (/[|~\x00-\x1f\x7f]/.test(text) || /[{}]/.test(text.replace(/\{\w+\}/g, '')))
    return 'a message holds no | ~ { } and no control characters'
  if (text.trim() === '') return 'it is empty'
  const full = filled(name, text, wording)
  const octets = octetsOf(full)
  if (count === undefined && !split.has(name) && octets > messageOctetsMax)
    return `it has ${octets} octets at its longest, at most ${messageOctetsMax} fit: "${full}"`
  return undefined
}

const rightBraces = (expected: readonly string[]): string =>
  expected.length === 0
    ? 'this text has no braces'
    : `expected ${expected.map((one) => `{${one}}`).join(' ')}`

function filled(name: string, text: string, wording: Wording): string {
  const fill = { ...longestFill(wording), ...fillOf[name as TextName]?.(wording) }
  return text.replace(/\{(\w+)\}/g, (_, brace: string) => fill[brace] ?? '')
}

/** All problems of a language's texts, a line each. */
export function textProblems(
  texts: Readonly<Record<string, unknown>>,
  wording: Wording,
): readonly string[] {
  return Object.entries(texts).flatMap(([name, text]) => {
    const problem = typeof text === 'string' ? textProblem(name, text, wording) : 'expected a text'
    return problem === undefined ? [] : [`${name}: ${problem}`]
  })
}

/** Names of texts that a language does not say itself. */
export const missingTexts = (texts: Partial<AirTexts>): readonly TextName[] =>
  (Object.keys(english) as TextName[]).filter((name) => texts[name] === undefined)
