import type { TextName } from './texts.js'
import type { Wording } from './wording.js'

type Fill = Readonly<Record<string, string>>

/** What the braces are filled with at the longest that the data allow; what is longer than a message anyway is left empty. */
function longestFill(wording: Wording): Fill {
  const { say, listed } = wording
  const most = (name: 'months' | 'weekdays', count: number): string =>
    longest(...Array.from({ length: count }, (_, at) => listed(name, at)))
  // A station is kept for ten years at most, and so is its age.
  const age = longest(
    ...[say('minutes', { count: 99 }), say('hours', { count: 47 }), say('days', { count: 3650 })],
  )
  const ago = say('ago', { age })
  const day = say('dayAndMonth', { day: 30, month: most('months', 12) })
  const heard = longest(
    ...[say('heardDirect'), say('heardDirectWith', { ebN0: -10 }), say('heardVia', { via: call })],
  )
  return {
    ...{ call, via: call, keyword: 'twelve-char1', word: 'fourteenlett..', group: 'NINECHARS' },
    ...{ name: 'SIXTEEN-LETTER-S', path: `${call},${call}`, age, ago, day, heard },
    ...{ count: '1000', most: '57', hours: '24', minutes: '120', percent: '100', degrees: '359' },
    ...{ month: '', day2: '30', month2: '12', year: '2026', time: '23:59', utc: '23:59:59' },
    ...{ zone: 'UTC+5:45', ebN0: '-10', level: '-99', balance: '-14', offset: '-150' },
    ...{ hz: '254.1', code: '754', elevation: '60', locator: 'HN15pf', mhz: '10450.25', place },
    kept: longest(say('manyHours', { count: 47 }), say('manyDays', { count: 365 })),
    limit: say('days', { count: 365 }),
    span: longest(
      ...[say('within2Days'), say('withinADay'), say('today'), say('tomorrow')],
      say('onDay', { day }),
    ),
    trend: longest(say('waxing'), say('waning')),
    quarter: longest(say('newMoon'), say('firstQuarter'), say('fullMoon'), say('lastQuarter')),
    ...{ speed: '199km/h', amount: '99.9mm', distance: '20004km', look: 'el90 az359' },
    date: say('date', { year: '2026', month2: '12', day2: '31' }),
    source: longest(say('timeNotChecked'), say('timeByGps'), say('timeWrong')),
    who: say('andOperator', { call }),
    kind: say('repeaterOf', { filter: '70cm D-STAR' }),
    ...{ filter: '70cm D-STAR', example: 'pass next HN15pf', examples: 'help, repeaters' },
    ...{ what: '', list: '', names: '', titles: '', title: '', times: '', weather: '' },
    ...{ change: '99.9hPa/3h', least: '-40.1C', greatest: '-30.1C' },
    until: `${most('weekdays', 7)} 23:59`,
    usual: longest('hold', 'release', 'state', say('usageTactical').replace(/ \S+$/, '')),
    usage: longest(...controlUsages.map((one) => say(one))),
    ...{ total: '1000', id: '999999', number: '999999', done: '200', subject: '' },
    ...{ to: 'a.twenty.letters@x..', why: '550', text: '', figures: '', full: day, new: day },
    ...{ around: '', from: '', at: '', reason: '' },
  }
}

const longest = (...texts: readonly string[]): string =>
  texts.reduce((most, one) => (octetsOf(one) > octetsOf(most) ? one : most))

/** Six letters and an SSID of two digits (AX.25). */
const call = 'N0CALL-15'
/** As an addressee, and so a tactical name, has them (APRS Protocol Reference 1.0.1, chapter 14), with who holds the name. */
const tactical = 'CHECKPT99'
const holder = `${tactical} (${call})`
/** of a file of places: so much of it is shown */
const place = 'twenty letters place'
const controlUsages = ['usageHold', 'usageRelease', 'usageState', 'usageTactical'] as const

/** Why what is asked is not answered, with the longest keyword of which it is said. */
const notReady = [
  ...([
    ['find', 'noTopicsReason'],
    ['repeaters', 'noDirectoryReason'],
  ] as const),
  ...([
    ['pass', 'noElementsReason'],
    ['pass', 'oldElementsReason'],
  ] as const),
  ...([
    ['conditions', 'noWeatherReason'],
    ['twelve-char1', 'eventNotOnReason'],
  ] as const),
]
const codeReasons = [
  ...(['codeNotEnrolled', 'codeTries', 'codeDisk', 'codeWrong', 'nameDisk'] as const),
  'controlNoEvent' as const,
]
const letterReasons = ['lettersOutOfOrder', 'noLetterRoom'] as const

const wherePlace = ({ say }: Wording, of: 'of' | 'from' | 'at', ago: string): string =>
  of === 'at'
    ? longest(
        say('atYou'),
        say('atNode'),
        say('atYourPlace'),
        say('atTheNode'),
        say('atPlace', { place }),
      )
    : of === 'of'
      ? longest(say('ofYouAgo', { ago }), say('ofNode'), say('ofPlace', { place }))
      : longest(say('fromYouAgo', { ago }), say('fromNode'), say('fromPlace', { place }))

/** '12h ago': a position that is used is no older than that unless the operator says so. */
const positionAgo = ({ say }: Wording): string => say('ago', { age: say('hours', { count: 12 }) })

/** A hold lasts until it is released, or for so many minutes: a week is the most. */
const untilHeld = ({ say }: Wording): Fill => ({
  until: longest(
    ...[
      say('controlUntilReleased'),
      say('controlFor', { span: say('minutes', { count: 10_079 }) }),
    ],
  ),
})

/** Where a brace holds something else than elsewhere. */
const fillOf: Readonly<Partial<Record<TextName, (wording: Wording) => Fill>>> = {
  // Of the mailbox: who held a name is named with it.
  ...{ delivered: () => ({ call: holder }), refused: () => ({ call: holder }) },
  ...{ expired: () => ({ call: holder }) },
  // The limits of the configuration: connected.lettersPerStation, connected.letterOctets, email.perDay, email.textOctets
  lettersFor: () => ({ count: '100' }),
  yourLetters: () => ({ count: '100' }),
  ...{ letterWaits: () => ({ count: '50000' }), letterKept: () => ({ count: '50000' }) },
  ...{ letterLonger: () => ({ most: '50000' }), letterTooLong: () => ({ most: '50000' }) },
  lineLeftOut: () => ({ most: '512' }),
  emailDay: () => ({ count: '10000' }),
  emailLong: () => ({ most: '9000' }),
  clockTime: () => ({ time: '23:59:59' }),
  clockTimeUtc: () => ({ time: '23:59:59' }),
  backSet: ({ say }) => {
    const span = say('minutes', { count: 99 })
    return { span, from: `+${span}`, time: `+${span}` }
  },
  backStands: ({ say }) => {
    const span = say('minutes', { count: 99 })
    return { span, time: `+${span}` }
  },
  overdue: ({ say }) => ({ time: `+${say('minutes', { count: 99 })}` }),
  cannotAnswer: ({ say }) => {
    const [keyword, reason] = notReady
      .map(([keyword, text]) => [keyword, say(text)] as const)
      .reduce((most, one) => (octetsOf(one.join('')) > octetsOf(most.join('')) ? one : most))
    return { keyword, reason }
  },
  unknown: () => ({ word: 'w'.repeat(24) }),
  nothingOn: () => ({ word: 'w'.repeat(20) }),
  letterNotKept: ({ say }) => ({ reason: longest(...letterReasons.map((one) => say(one))) }),
  doesNotRise: (wording) => ({ place: wherePlace(wording, 'at', positionAgo(wording)) }),
  nodeInBy: () => ({ source: 'GPS' }),
  bySource: () => ({ source: 'GPS' }),
  helpList: () => ({ example: 'repeaters' }),
  noneNear: (wording) => ({ place: wherePlace(wording, 'of', positionAgo(wording)) }),
  withinOf: (wording) => ({ place: wherePlace(wording, 'of', positionAgo(wording)) }),
  seen: (wording) => ({
    from: wherePlace(wording, 'from', positionAgo(wording)),
    source: wording.say('elementsAge', { age: wording.say('days', { count: 30 }) }),
  }),
  seenDownlink: (wording) => ({
    from: wherePlace(wording, 'from', positionAgo(wording)),
    source: wording.say('elementsAge', { age: wording.say('days', { count: 30 }) }),
  }),
  controlNot: ({ say }) => ({
    reason: longest(
      ...codeReasons.map((one) => say(one)),
      ...[say('nameBad', { word: 'twelve-char1' }), say('nameNoCall', { word: 'twelve-char1' })],
      say('nameMany', { count: 200 }),
    ),
  }),
  controlHeld: () => ({ name: tactical }),
  controlHolding: untilHeld,
  controlHoldingLost: untilHeld,
  controlFor: ({ say }) => ({ span: say('minutes', { count: 10_079 }) }),
  // An alert's name has 25 characters; what else there is to say is cut where it finds no room.
  alertIs: () => ({ name: 'n'.repeat(25) }),
  alertOver: () => ({ name: 'n'.repeat(25) }),
  eventNotKept: ({ say }) => ({
    reason: longest(
      ...[say('eventNoSuchName', { word: 'twelve-char1' }), say('eventTooMany', { most: 200 })],
      ...[say('eventTooLong', { count: 500, most: 57 }), say('eventOutOfOrder'), say('eventFull')],
    ),
  }),
  eventTooLong: () => ({ count: '500' }),
  eventKeptFor: () => ({ who: holder }),
  eventNobodyHolds: () => ({ name: tactical }),
  eventWhatText: () => ({ to: 'twelve-char1' }),
  eventKeptUntilHeld: () => ({ name: tactical }),
  eventPresent: () => ({ minutes: '1440', count: '200', total: '200' }),
  eventConfirmed: () => ({ count: '200', total: '200', text: 'sixteen letters ..' }),
  noWeather: ({ say }) => ({
    age: say('hours', { count: 24 }),
    around: say('within', { distance: '20004km' }),
  }),
}

export const octetsOf = (text: string): number => new TextEncoder().encode(text).length

/** A text with its braces at their longest. */
export function filled(name: string, text: string, wording: Wording): string {
  const fill = { ...longestFill(wording), ...fillOf[name as TextName]?.(wording) }
  return text.replace(/\{(\w+)\}/g, (_, brace: string) => fill[brace] ?? '')
}
