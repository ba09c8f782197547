import { readFileSync } from 'node:fs'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { type Tried, type Try, triesWorld } from './triesWorld.js'

/*
 * 200 first tries in five languages by a fifth hand, that had seen no file of the project. At the first run over them, before anything was
 * mended, 175 got a useful answer and about ten a misleading one (judged by hand against each note).
 */
const tries = JSON.parse(
  readFileSync(new URL('./fourthTries.json', import.meta.url), 'utf8'),
) as readonly Try[]

const told = ({ messages }: Tried): string => messages.join(' ')
const by = (keyword: string, { keyword: answered }: Tried): boolean => answered === keyword
const callIn = ({ text }: Try): string => /Q\d[A-Z]{3}(-\d+)?/.exec(text)?.[0] ?? ''
const offers = (pattern: RegExp, tried: Tried): boolean =>
  tried.kind === 'offer' && pattern.test(told(tried))

/** The places that are named are not known to this node: it must say so, and never pass its own place off as one of them. */
const strangePlaces =
  /Kesterby|Kaltenried|Hohenlaub|Valbrune|Montferlet|Villalmedra|Mordana|Testaro|Salina|Mossdale|Murrbach|Orlin|Navaltuerta|Lupetto|Brannock|Finsterjoch/
const ofPlace = ({ text }: Try, tried: Tried): boolean => {
  const [place] = strangePlaces.exec(text) ?? []
  const [locator] = /[A-R]{2}\d{2}[a-x]{2}/.exec(text) ?? []
  const [degrees] = /\d{2}\.\d{2}/.exec(text) ?? []
  return (
    (place === undefined ||
      new RegExp(`"[^"]*${place}[^"]*" is not known here`).test(told(tried))) &&
    [locator, degrees].every((one) => one === undefined || told(tried).includes(one))
  )
}

/** When an answer is useful: one rule a meaning. */
const rules: Readonly<Record<string, (one: Try, tried: Tried) => boolean>> = {
  help: (_, tried) => by('help', tried),
  repeaters: (one, tried) =>
    by('repeaters', tried) &&
    ofPlace(one, tried) &&
    (/^No repeater within/.test(told(tried)) || /146\.940-0\.6MHz tone 100Hz/.test(told(tried))),
  weather: (one, tried) =>
    by('conditions', tried) &&
    ofPlace(one, tried) &&
    (/^No weather heard/.test(told(tried)) || /14\.2C/.test(told(tried))) &&
    (!/sol$/.test(one.text) || /Next: sun/.test(told(tried))),
  forecast: (_, tried) => by('conditions', tried) && /^No forecast here/.test(told(tried)),
  satellite: ({ text }, tried) =>
    by('pass', tried) &&
    / rise /.test(told(tried)) &&
    (!/iss|espacial/i.test(text) || /^ISS/.test(told(tried))),
  sun: (one, tried) =>
    by('sun', tried) &&
    ofPlace(one, tried) &&
    told(tried).startsWith(
      /domani/.test(one.text) ? 'Tomorrow' : one.text.includes('Sat') ? '27 Jun' : 'Today',
    ),
  moon: (one, tried) =>
    by('sun', tried) && /^Moon \d\d% lit/.test(told(tried)) && ofPlace(one, tried),
  time: (_, tried) => by('clock', tried),
  heard: (one, tried) =>
    by('heard', tried) && told(tried).startsWith(callIn(one) === '' ? 'Heard: Q1ABC' : callIn(one)),
  where: (one, tried) => by('where', tried) && told(tried).startsWith(callIn(one)),
  leave: (one, tried) =>
    told(tried).startsWith(`Kept 7 days for ${callIn(one)}.`) || offers(/leave CALL TEXT/, tried),
  collect: (_, tried) => by('collect', tried),
  watch: (one, tried) =>
    callIn(one) === ''
      ? /^(You have no watch running|Name who is to be told)/.test(told(tried)) ||
        offers(/Send back/, tried)
      : /^Due back 18:00 /.test(told(tried)) && told(tried).includes(callIn(one)),
  'tell-when-heard': (one, tried) =>
    told(tried).startsWith(`You are told once when ${callIn(one)} is heard`),
  greeting: (_, tried) => by('greeting', tried) && !/^Cancelled/.test(told(tried)),
  stop: (_, tried) => /^Cancelled/.test(told(tried)),
  signal: (_, tried) => by('signal', tried),
  card: (_, tried) => by('find', tried) && /^(Hut Colle Verde|Water|First aid)/.test(told(tried)),
  emergency: (_, tried) => /^Emergency numbers: /.test(told(tried)),
  'help-or-emergency': (_, tried) => by('help', tried) || /^Emergency numbers/.test(told(tried)),
  'board-read': (_, tried) => by('board', tried),
  'board-post': (_, tried) => /^On the board/.test(told(tried)),
  // The call sign says who is responsible.
  who: (_, tried) => told(tried).startsWith('N0CALL-10'),
  none: (_, tried) => ['nothing', 'offer'].includes(tried.kind) || by('help', tried),
  sent: (_, tried) => by('mail', tried),
  cancel: (_, tried) => by('mail', tried),
  station: (one, tried) => offers(new RegExp(`Send heard ${callIn(one)}`), tried),
  // The first is answered; how to ask the other is said only where it costs no message.
  'two wishes': () => false,
  // Nothing here can do these.
  'notice-gone': () => false,
  again: () => false,
  'heard-by-other': () => false,
}

const answered: { readonly one: Try; readonly tried: Tried }[] = []
const shown = ({ one, tried }: (typeof answered)[number]): string =>
  `${one.language} "${one.text}" (${one.means}) -> ${tried.keyword ?? tried.kind} [${tried.words}]: ${told(tried)}`

let world: Awaited<ReturnType<typeof triesWorld>>
beforeAll(async () => {
  world = await triesWorld()
  for (const one of tries) answered.push({ one, tried: await world.ask(one) })
})
afterAll(() => world.close())

it('19 in 20 get a useful answer', () => {
  const useless = answered.filter(({ one, tried }) => !rules[one.means]!(one, tried))
  expect(answered.length).toBe(200)
  expect(useless.length, useless.map(shown).join('\n')).toBeLessThanOrEqual(answered.length / 20)
})

it("none gets 'No service', and none acts on or answers what was not asked", () => {
  expect(answered.filter(({ tried }) => /No service/i.test(told(tried))).map(shown)).toEqual([])
  const misleading = answered.filter(
    ({ one, tried }) =>
      tried.kind === 'service' &&
      !by('help', tried) &&
      one.means !== 'two wishes' &&
      !rules[one.means]!(one, tried),
  )
  expect(misleading.map(shown)).toEqual([])
})

it.each([
  // What is refused is not answered, where something else is wanted.
  ["I don't want repeaters, weather please", /14\.2C/],
  ['nicht das relais sondern das wetter', /^Q6WX-13 .*14\.2C[^"]*$/],
  ['no weather station in Oberwald', /14\.2C/],
  ['overdue 18:00 Q1ABC', /^Due back 18:00/],
  ['my wife Q1ABC is 3 hours overdue', /^Q1ABC 3min ago/],
  ['tell Q1ABC I am overdue', /^Kept 7 days for Q1ABC/],
  ['tell nobody, I am back', /Send back off/],
  ['msg Q1ABC delivered?', /you left nothing lately/],
  ['le relais le + proche', /146\.940/],
])('%s', async (text, wanted) => {
  const tried = await world.ask({ text, language: '', means: '', note: '' })
  expect(told(tried)).toMatch(wanted)
})
