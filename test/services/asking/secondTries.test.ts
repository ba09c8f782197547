import { readFileSync } from 'node:fs'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { type Tried, type Try, triesWorld } from './triesWorld.js'

/*
 * 200 first tries in five languages by a third hand, that had seen neither the matcher nor the other lists. At the first run over them,
 * before anything was mended, 154 got a useful answer, 26 a misleading one (judged by hand against each note). Places that they name
 * are known to nobody here: an answer for elsewhere says so.
 */
const tries = JSON.parse(
  readFileSync(new URL('./secondTries.json', import.meta.url), 'utf8'),
) as readonly Try[]

const told = ({ messages }: Tried): string => messages.join(' ')
/** Places that only the tries know. */
const strangePlaces = /\b(Kemmar|Ondal|Brisk Hut)\b/i
const saysStrange = ({ text }: Try, tried: Tried): boolean => {
  const [place] = strangePlaces.exec(text) ?? []
  return (
    place === undefined ||
    (/not known here/.test(told(tried)) && told(tried).toLowerCase().includes(place.toLowerCase()))
  )
}
const by = (keyword: string, { keyword: answered }: Tried): boolean => answered === keyword

/** When an answer is useful: one rule a meaning. */
const rules: Readonly<Record<string, (one: Try, tried: Tried) => boolean>> = {
  repeaters: (one, tried) =>
    by('repeaters', tried) &&
    saysStrange(one, tried) &&
    (!/c4fm|dmr|145\.600/i.test(one.text) ||
      /(^|\/ |; |you )No (C4FM|DMR|145\.600 MHz)/.test(told(tried))) &&
    (!/c4fm oder dstar/.test(one.text) || /D-STAR .*No C4FM/.test(told(tried))) &&
    (!/70cm|uhf/i.test(one.text) || !/ 14\d\.\d/.test(told(tried))),
  weather: (one, tried) =>
    by('conditions', tried) &&
    /14\.2C/.test(told(tried)) &&
    saysStrange(one, tried) &&
    (!/gonna|neiger|stanotte/.test(one.text) || /^No forecast/.test(told(tried))),
  satellite: ({ text }, tried) => {
    const name = /AO-91|SO50|QO-100|JN55|in80/i.exec(text)?.[0].toLowerCase() ?? ''
    const isNamed = told(tried).toLowerCase().includes(name)
    const isIss = !/iss|espacial/i.test(text) || told(tried).startsWith('ISS')
    const isDay = !/mañana/.test(text) || / rise Mon /.test(told(tried))
    return by('pass', tried) && isNamed && isIss && isDay
  },
  sun: ({ text }, tried) =>
    by('sun', tried) && told(tried).startsWith(/tmrw|domani/i.test(text) ? 'Tomorrow' : 'Today'),
  moon: (_, tried) => by('sun', tried) && told(tried).startsWith('Moon 48% lit'),
  heard: (_, tried) => by('heard', tried) && told(tried).startsWith('Heard: Q1ABC'),
  where: ({ station }, tried) => by('where', tried) && told(tried).includes(station!),
  signal: (_, tried) => /^(You were not heard here yet|Hello)/.test(told(tried)),
  time: (_, tried) => by('clock', tried) && /UTC/.test(told(tried)),
  leave: ({ station }, tried) =>
    station === undefined
      ? by('leave', tried) &&
        /Send (e\.g\. )?leave/.test(told(tried)) &&
        !/"(un|to|a)"/.test(told(tried))
      : by('leave', tried) && told(tried).startsWith(`Kept 7 days for ${station}.`),
  collect: (_, tried) => by('collect', tried),
  'board-read': (_, tried) => by('board', tried),
  'board-post': (_, tried) =>
    /^On the board/.test(told(tried)) || (tried.kind === 'offer' && /post TEXT/.test(told(tried))),
  // What no card is on is said to be so; a club's evening is looked for on the board.
  card: ({ text }, tried) => {
    if (/OV abend/.test(text)) return by('board', tried)
    const topic = {
      'Water: ': /water|eau|agua|acqua/i,
      'Camp: ': /zelten|acampar/i,
      'Hut Colle Verde: ': /^refuge/i,
      'Nothing on ': /essen|mangiare|sezione/i,
    }
    const [starts] = Object.entries(topic).find(([, words]) => words.test(text)) ?? ['Emergency']
    return by('find', tried) && told(tried).startsWith(starts)
  },
  bulletins: (_, tried) => by('bulletins', tried) || by('board', tried),
  help: (_, tried) => by('help', tried),
  greeting: (_, tried) => by('greeting', tried),
  overdue: ({ text, station }, tried) => {
    if (station === undefined) return told(tried) === 'You have no watch running.'
    const time = /\d{2}/.exec(text.replace(/Q\d\w+/g, ''))?.[0] ?? '18'
    return told(tried).includes(station) && new RegExp(`(Due )?back ${time}:`).test(told(tried))
  },
  'tell-when-heard': ({ station }, tried) =>
    told(tried).startsWith(`You are told once when ${station} is heard`),
  'sent-messages': (_, tried) => by('mail', tried),
  email: (_, tried) => told(tried).startsWith('No mail goes out from here'),
  none: ({ text }, tried) =>
    ['nothing', 'offer'].includes(tried.kind) ||
    by('help', tried) ||
    (/^bus/.test(text) && by('find', tried)),
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

it("none gets 'No service', and none is misleading", () => {
  expect(answered.filter(({ tried }) => /No service/i.test(told(tried))).map(shown)).toEqual([])
  const misleading = answered.filter(
    ({ one, tried }) =>
      // A card says by its title what it is on.
      tried.kind === 'service' &&
      !by('help', tried) &&
      !(one.means === 'card' && by('find', tried)) &&
      !rules[one.means]!(one, tried),
  )
  expect(misleading.map(shown)).toEqual([])
})
