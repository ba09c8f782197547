import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { loadConfig } from '../../../src/config/load.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { createServices } from '../../../src/services/all.js'
import { type Dispatched, dispatch, understandAsked } from '../../../src/services/dispatch.js'
import type { HeardStation } from '../../../src/services/service.js'
import { serviceOptions } from '../../../src/setup/serviceOptions.js'
import { inEnglish } from '../../../src/words/air/all.js'
import { testContext } from '../testContext.js'

/** What somebody who never read a page sent, and what was meant, as another hand wrote it down without having seen the matcher. */
export interface Try {
  readonly text: string
  readonly language: string
  readonly means: string
  readonly note: string
  readonly count?: number
  readonly station?: string
  readonly place?: string
  readonly when?: string
}

export interface Tried extends Dispatched {
  readonly kind: string
  readonly words: readonly string[]
}

const sample = fileURLToPath(new URL('../../../samples/hilltop/node.toml', import.meta.url))
const nowMs = Date.UTC(2026, 5, 21, 16)

/** The sample node, with the places and cards of the tries, that has heard their stations and a weather report. */
export async function triesWorld() {
  const folder = mkdtempSync(join(tmpdir(), 'tries-'))
  cpSync(dirname(sample), folder, { recursive: true })
  writeFileSync(
    join(folder, 'places.csv'),
    'name;latitude;longitude\nOberwald;45.30;-36.60\nValmont;45.10;-36.90\nSteinhütte;45.24;-36.71\n' +
      'Puerto Alto;45.40;-36.80\nColle Verde;45.05;-36.65\n',
  )
  writeFileSync(
    join(folder, 'cards', 'tries.md'),
    '# Emergency numbers\nemergency: mountain rescue 999, valley clinic 998\nkeywords: emergency, urgence, notruf\n' +
      '\n# Hut Colle Verde\nRifugio Colle Verde: telefono 123, water inside\n',
  )
  const elements = readFileSync(join(folder, 'elements.txt'), 'utf8')
  writeFileSync(join(folder, 'elements.txt'), elements.replace('HARVESTER 2', 'ISS'))
  const clock = virtualClock(nowMs)
  const config = await loadConfig(sample)
  const open = createServices({
    ...serviceOptions(config, folder, clock, () => {}),
    places: { file: join(folder, 'places.csv') },
    own: { folder: '', timeLimitMs: 1000, memoryMb: 16 },
  })
  await open.ready
  const station = (call: string, agoMin: number): HeardStation => {
    const atWallMs = nowMs - agoMin * 60_000
    const position = { latitudeDeg: 45.2, longitudeDeg: -36.75, atWallMs }
    return { call, lastHeardWallMs: atWallMs, position, via: ['direct'], frameCount: 4 }
  }
  const stations = ['Q1ABC', 'Q1XYZ', 'Q2DEF', 'Q6WX-13'].map((call, at) => station(call, at + 3))
  // What was understood is looked at here; how it is said in each language, in saying.test.ts.
  const context = testContext({
    wordings: { of: () => inEnglish, all: [inEnglish] },
    clock,
    askerPosition: { latitudeDeg: 45.25, longitudeDeg: -36.7, ageMs: 0 },
    services: open.services,
    notices: {
      recent: () => [{ from: 'Q1ABC', text: 'Hut path is open', postedWallMs: nowMs - 60_000 }],
      post: () => ({ ok: true, keptMs: 604_800_000 }),
    },
    stations: {
      find: (call) => stations.find((one) => one.call === call),
      recent: (count) => stations.slice(0, count),
      signals: () => [],
      weather: () => [
        {
          ...{ call: 'Q6WX-13', atWallMs: nowMs - 720_000, temperatureC: 14.2, windSpeedMps: 5 },
          position: { latitudeDeg: 45.2, longitudeDeg: -36.75 },
        },
      ],
    },
  })
  return {
    async ask({ text }: Try): Promise<Tried> {
      const from = 'N0CALL-7'
      const meant = understandAsked({ from, text }, open)
      const dispatched = await dispatch({ id: text, from, text }, open, context)
      const words = meant.kind === 'service' ? meant.words : []
      return { ...dispatched, kind: meant.kind, words }
    },
    async close() {
      await open.close()
      rmSync(folder, { recursive: true })
    },
  }
}

type Rule = (one: Try, tried: Tried) => boolean

const all = (tried: Tried): string => tried.messages.join(' ')
const by = (keyword: string, tried: Tried): boolean => tried.keyword === keyword
const saysPlace = ({ place }: Try, tried: Tried): boolean =>
  place === undefined || all(tried).includes(airName(place))
const airName = (place: string): string => place.normalize('NFD').replace(/\p{M}/gu, '')

/**
 * When an answer is useful: the service that was meant answered, for the place, station, day and number that were named, or said
 * that it does not know them. One rule a meaning.
 */
export const rules: Readonly<Record<string, Rule>> = {
  repeaters: (one, tried) => {
    // Many in few messages follow each other with semicolons; one begun in a message may end in the next.
    const listed = tried.messages.every((text) => /^[^;]*$/.test(text))
      ? tried.messages.filter((text) => /\d\d\.\d{3}/.test(text))
      : all(tried).split('; ')
    const asked = one.text.toLowerCase()
    const inBand = (text: string): boolean => {
      if (/uhf|70 ?cm/.test(asked)) return / 4[34]\d\./.test(text)
      if (/vhf/.test(asked)) return / (14[4-7]|22\d|53)\./.test(text)
      return /2 ?m\b/.test(asked) ? / 14[4-7]\./.test(text) : true
    }
    const isNone = /^No .*repeater/.test(tried.messages[0]!)
    return (
      by('repeaters', tried) &&
      saysPlace(one, tried) &&
      (isNone || (listed.length > 0 && listed.every(inBand))) &&
      (one.count === undefined || isNone || listed.length === one.count) &&
      (!/dmr/.test(asked) || /DMR/.test(all(tried)))
    )
  },
  weather: (one, tried) =>
    by('conditions', tried) &&
    /14\.2C/.test(all(tried)) &&
    saysPlace(one, tried) &&
    (one.when === undefined || /^No forecast/.test(all(tried))),
  sun: (one, tried) => {
    const label = { tomorrow: /^Tomorrow/, '24 dec': /^24 Dec/, '21.6.': /^Today/ }[one.when ?? '']
    return by('sun', tried) && (label ?? /^Today/).test(all(tried))
  },
  moon: (_, tried) => by('sun', tried) && /^Moon .*full \d/.test(all(tried)),
  heard: ({ station }, tried) =>
    by('heard', tried) && all(tried).startsWith(station ?? 'Heard: Q1ABC'),
  where: ({ station, place }, tried) =>
    by('where', tried) &&
    (station ?? place ?? /^(You|N0CALL-10): /.exec(all(tried))) !== null &&
    all(tried)
      .toUpperCase()
      .startsWith((station ?? place ?? '').toUpperCase()),
  pass: ({ when }, tried) =>
    by('pass', tried) &&
    (/ (rise|up now) /.test(all(tried)) || /^No satellite "HILLSAT/.test(all(tried))) &&
    (when === undefined || / rise Mon | within|tomorrow/.test(all(tried))),
  mail: (_, tried) =>
    by('collect', tried) || by('mail', tried) || /Messages for you: 0/.test(all(tried)),
  leave: ({ station }, tried) =>
    by('leave', tried) && all(tried).startsWith(`Kept 7 days for ${station}.`),
  help: (_, tried) => by('help', tried),
  // Bulletins tell the board's notices among those that were heard.
  notices: (_, tried) =>
    (by('board', tried) || by('bulletins', tried)) && /Hut path/.test(all(tried)),
  time: (_, tried) => by('clock', tried),
  greeting: (_, tried) => /^Hello/.test(all(tried)),
  test: (_, tried) => /^Hello/.test(all(tried)),
  thanks: (_, tried) => /73/.test(all(tried)),
  cancel: (_, tried) => /^Cancelled/.test(all(tried)),
  cards: (_, tried) => by('find', tried) && /mountain rescue|Colle Verde/.test(all(tried)),
  unclear: (_, tried) => ['nothing', 'offer'].includes(tried.kind) && /Send/.test(all(tried)),
}

/** An answer of another service than was meant, or for another place, day or station than was named, without saying so. */
export function isMisleading(one: Try, tried: Tried): boolean {
  if (rules[one.means]!(one, tried) || tried.kind !== 'service') return false
  if (/not known here|not a call sign|Which one|^Send /.test(all(tried))) return false
  return tried.keyword !== 'help'
}
