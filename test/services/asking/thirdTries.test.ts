import { readFileSync } from 'node:fs'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { type Tried, type Try, triesWorld } from './triesWorld.js'

/*
 * 200 first tries in five languages by a fourth hand, that had seen neither the matcher nor the other lists. At the first run over them,
 * before anything was mended, about 170 got a useful answer and some 10 a misleading one (judged by hand against each note).
 */
const tries = JSON.parse(
  readFileSync(new URL('./thirdTries.json', import.meta.url), 'utf8'),
) as readonly Try[]

const told = ({ messages }: Tried): string => messages.join(' ')
const by = (keyword: string, { keyword: answered }: Tried): boolean => answered === keyword
const callIn = ({ text }: Try): string => /Q\d[A-Z]{3}/.exec(text)?.[0] ?? ''
const offers = (pattern: RegExp, tried: Tried): boolean =>
  tried.kind === 'offer' && pattern.test(told(tried))
const places = /Oberwald|Valmont|Puerto Alto|Colle Verde|Steinhu/i
/** The answer is for the place that is named. */
const ofPlace = ({ text }: Try, tried: Tried): boolean => {
  const [place] = places.exec(text) ?? []
  return place === undefined || told(tried).toLowerCase().includes(place.slice(0, 6).toLowerCase())
}
const isOnSnowOrInjury = /Emergency numbers: /

/** When an answer is useful: one rule a meaning. */
const rules: Readonly<Record<string, (one: Try, tried: Tried) => boolean>> = {
  repeaters: (one, tried) =>
    by('repeaters', tried) &&
    ofPlace(one, tried) &&
    (!/dmr|dstar|fusion/i.test(one.text) || /^No (70cm )?(DMR|D-STAR|C4FM)/.test(told(tried))) &&
    // Those of other tones are listed only with a word on it.
    (!one.text.includes('88.5') || /"88\.5" is not known/.test(told(tried))),
  weather: (one, tried) =>
    by('conditions', tried) &&
    /14\.2C/.test(told(tried)) &&
    ofPlace(one, tried) &&
    (!/wx (and|y) /.test(one.text) || /Next: /.test(told(tried))),
  forecast: (_, tried) => by('conditions', tried) && /^No forecast here/.test(told(tried)),
  satellite: ({ text }, tried) =>
    /harvester/i.test(text)
      ? /^No satellite "harvester"/.test(told(tried)) || offers(/Send pass/, tried)
      : by('pass', tried) &&
        / rise /.test(told(tried)) &&
        (!/iss/i.test(text) || /^ISS/.test(told(tried))),
  sun: ({ text }, tried) =>
    by('sun', tried) && told(tried).startsWith(/morgen|domani/i.test(text) ? 'Tomorrow' : 'Today'),
  moon: (_, tried) => by('sun', tried) && told(tried).startsWith('Moon 48% lit'),
  heard: (one, tried) =>
    by('heard', tried) && told(tried).startsWith(callIn(one) === '' ? 'Heard: Q1ABC' : callIn(one)),
  where: (one, tried) =>
    by('where', tried) && ofPlace(one, tried) && told(tried).includes(callIn(one)),
  signal: (_, tried) => by('signal', tried),
  time: (_, tried) => by('clock', tried),
  position: (_, tried) => by('where', tried) && told(tried).startsWith('You: HN15pg'),
  leave: (one, tried) =>
    told(tried).startsWith(`Kept 7 days for ${callIn(one)}.`) || offers(/leave CALL TEXT/, tried),
  collect: (_, tried) => by('collect', tried),
  sent: (_, tried) => by('mail', tried) || offers(/mail/, tried),
  cancel: (_, tried) => by('mail', tried),
  'board-read': (_, tried) => by('board', tried),
  'board-post': (_, tried) => /^On the board/.test(told(tried)) || offers(/post TEXT/, tried),
  card: ({ text }, tried) =>
    /colle verde/i.test(text)
      ? /^Hut Colle Verde/.test(told(tried)) || offers(/board or find/, tried)
      : by('find', tried) && isOnSnowOrInjury.test(told(tried)),
  watch: (one, tried) =>
    callIn(one) === ''
      ? told(tried) === 'You have no watch running.'
      : (/^Due back \d\d:00 /.test(told(tried)) && told(tried).includes(callIn(one))) ||
        offers(/back/, tried),
  'tell-when-heard': (one, tried) =>
    told(tried).startsWith(`You are told once when ${callIn(one)} is heard`),
  email: (_, tried) => told(tried).startsWith('No mail goes out from here'),
  roll: (_, tried) => told(tried).startsWith('There is no roll here'),
  help: (_, tried) => by('help', tried),
  emergency: (_, tried) => /^Emergency numbers: /.test(told(tried)),
  // 'Moin, hört mich wer' is answered with who is there.
  greeting: ({ text }, tried) => by('greeting', tried) || (/wer$/.test(text) && by('heard', tried)),
  none: (_, tried) =>
    ['nothing', 'offer'].includes(tried.kind) ||
    ['help', 'find', 'board'].some((keyword) => by(keyword, tried)),
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
      // A word that is told to be unknown is no answer, and usage does nothing.
      !/not a call sign|^What should /.test(told(tried)) &&
      !rules[one.means]!(one, tried),
  )
  expect(misleading.map(shown)).toEqual([])
})

it.each([
  ['ich habe mich verlaufen, nebel bei oberwald', /^(You|Du):? ?/],
  ['je suis perdu brouillard valmont', /^(You|Tu):? ?/],
  ['hilfe verirrt oberwald', /^Emergency numbers: /],
  ['ayuda estoy perdido en la niebla', /^Emergency numbers: /],
  ['help im lost in the fog at valmont', /^Emergency numbers: /],
  ['this is not an emergency', /^emergency\? Send find/],
  ['falsch verbunden', /^Cancelled/],
  ['send nudes', /not known here/],
  ['turn on the light', /not known here/],
  ['enciende la luz', /not known here/],
  ['what time does the race start', /^race\? Send board or find/],
  ['bin um 18 uhr zurueck', /Send back 18 uhr/],
  ['let me know when it rains', /^I tell only when a station is heard/],
  ['nachricht an Q1ABC: komme doch nicht', /^Kept 7 days for Q1ABC/],
  ['annule le message à Q1ABC', /you left nothing lately/],
  ['non serve più la veglia, sono a casa', /^You have no watch running/],
  ['what time zone is it', /UTC/],
  // These end no watch, and take nothing back.
  ['bin überfällig', /Send e\.g\. back/],
  ['ritira i miei messaggi', /^Nothing is waiting/],
])('%s', async (text, wanted) => {
  const tried = await world.ask({ text, language: '', means: '', note: '' })
  expect(told(tried)).toMatch(wanted)
})
