import { type Random, seededRandom } from '../../src/runtime/random.js'
import { excuse } from './faults.js'
import { callToken } from './helpWatch.js'
import { floodFrames, hostileFrame, letters, loopFrame, misreadFrame } from './hostile.js'
import { polite } from './person.js'
import type { Stimulus, TrafficKind } from './schedule.js'
import { nodeCall } from './setting.js'
import type { World } from './world.js'

type Traffic = (world: World, stimulus: Stimulus, random: Random) => void

/** Somebody does something on the air, at a client's or as the operator. */
export function applyTraffic(world: World, stimulus: Stimulus): void {
  traffic[stimulus.kind as TrafficKind](world, stimulus, seededRandom(stimulus.seed))
}

const traffic: Readonly<Record<TrafficKind, Traffic>> = {
  ask(world, { id }, random) {
    const person = pick(random, world.people)
    world.questions++
    person.ask(questionText(world, id, random))
  },
  travel(world, _, random) {
    const person = pick(random, world.people)
    const place = world.paths.places.get(person.call)!
    place.xKm += 4 * (random() - 0.5)
    place.yKm += 4 * (random() - 0.5)
    person.path = random() < 0.35 ? ['WIDE1-1'] : []
    person.sendPosition(45.231 + place.yKm / 111, -36.742 + place.xKm / 78)
  },
  weather(world, _, random) {
    const report = `!4514.00N/03644.00W_${three(360 * random())}/${three(30 * random())}g005t0${30 + Math.floor(40 * random())}`
    pick(random, world.people).sendPayload(Buffer.from(report))
  },
  client(world, { seed }) {
    const { life } = world
    life?.main.run(() => world.clients.act(seed, life.hub))
  },
  hostile(world, { seed }) {
    world.hostile.sendNow([hostileFrame(seed, world.hostileView)])
  },
  flood(world, { seed }) {
    const frames = floodFrames(seed, world.hostileView)
    // Who asks in it has been promised answers, which go first, as far as airtime allows within the time of an answer.
    excuse(world, 'flood', floodExcuseMs)
    const next = (): void => {
      if (frames.length === 0) return
      const lastsMs = world.hostile.sendNow(frames.splice(0, 6))
      world.clock.at(world.clock.monotonicMs() + lastsMs + 20, next)
    }
    next()
  },
  loop(world, { seed }) {
    world.hostile.sendNow([loopFrame(seed, world.hostileView)])
  },
  misread(world, { id }) {
    world.life?.radio.hear(misreadFrame(id, world.hostileView), 2)
  },
  'operator holds'(world, _, random) {
    const { life } = world
    life?.radio.hold('operator', 'by hand')
    world.clock.at(world.clock.monotonicMs() + 5_000 + 90_000 * random(), () =>
      life?.radio.release('operator'),
    )
  },
  control: (world, _, random) => controlByRadio(world, random),
  stranger: (world, { id }) => askAsStranger(world, id),
  'call for help': (world, { id }, random) => callForHelp(world, id, random),
}

function questionText(world: World, id: number, random: Random): string {
  const draw = random()
  const name = `T${id}`
  if (draw < 0.5) return `say ${name}a`
  if (draw < 0.62) return `say ${name}a/${name}b`
  if (draw < 0.67) return `say ${name}a/${name}b/${name}c`
  if (draw < 0.8) return `leave ${pick(random, world.people).call} L${id} at the hut`
  if (draw < 0.91) return 'collect'
  return pick(random, [
    ...[
      'help',
      'clock',
      'heard',
      'signal',
      'sun',
      'board',
      `post notice ${id}`,
      '?APRSP',
      '?APRSD',
    ],
    ...[
      'where Q0AAA-7',
      'gibberish',
      'help repeaters',
      'conditions',
      'pass iss',
      'find water',
      'state',
    ],
  ])
}

/** The control operator stops the station for a while, by radio, and does not rest until it is released. */
function controlByRadio(world: World, random: Random): void {
  if (world.codes.length < 40) return
  const operator = world.person({
    call: 'Q0OPR-1',
    manners: polite,
    place: { xKm: 1.5, yKm: 0.5, heightM: 60 },
    path: [],
  })
  operator.ask(`hold ${world.codes.shift()}`)
  let tries = 0
  const release = (): void => {
    if (operator.hasShown('Released') || ++tries > 15) return
    operator.ask(`release ${world.codes.shift()}`)
    world.clock.at(world.clock.monotonicMs() + 45_000, release)
  }
  world.clock.at(world.clock.monotonicMs() + 60_000 + 120_000 * random(), release)
}

const answeredWithinMs = 120_000
const floodExcuseMs = 660_000
const strangersGapsMs = [
  7_000, 9_000, 11_000, 8_000, 10_000, 12_000, 9_000, 10_000, 11_000, 12_000, 12_000, 12_000,
]

/** Somebody whom the node never heard asks, when all is over; and again, as long as nothing comes. */
function askAsStranger(world: World, id: number): void {
  const call = `Q1${letters(id)}-9`
  const stranger = world.person({
    call,
    manners: { ...polite, gapsMs: strangersGapsMs },
    place: { xKm: 1, yKm: -1, heightM: 80 },
    path: [],
  })
  const name = `P${id}`
  const begunAtAbleMs = world.ableMs
  const beganMs = world.clock.monotonicMs()
  let isAnswered = false
  const ask = (): void => {
    if (isAnswered || world.clock.monotonicMs() - beganMs > 3_600_000) return
    stranger.ask(`say ${name}a`)
    world.clock.at(world.clock.monotonicMs() + 100_000, ask)
  }
  ask()
  world.questions++
  const look = (): void => {
    isAnswered = stranger.hasShown(`${name}a`)
    const waitedMs = world.ableMs - begunAtAbleMs
    if (isAnswered || waitedMs > answeredWithinMs)
      world.oracle.check(
        'a stranger is answered within two minutes',
        isAnswered,
        () => `${call} asked ${nodeCall} ${Math.round(waitedMs / 1000)} s of good time ago`,
      )
    else if (world.clock.monotonicMs() - beganMs < 3_600_000)
      world.clock.at(world.clock.monotonicMs() + 5_000, look)
  }
  look()
}

/** Somebody, or several at once, and again after some minutes: by message, or in what their radios send by themselves. */
function callForHelp(world: World, id: number, random: Random): void {
  const several = random() < 0.1 ? 12 : 1
  const { clock } = world
  for (let index = 0; index < several; index++) {
    const text = pick(random, ['sos leg broken', 'Mayday, Mayday', 'au secours', 'EMERGENCY fire'])
    const words = `${text} ${callToken(100 * id + index)}`
    const caller = world.person({
      call: `Q2${letters(100 * id + index)}-7`,
      manners: polite,
      place: { xKm: 2 * random(), yKm: 2 * random(), heightM: 60 },
      path: random() < 0.2 ? ['WIDE1-1'] : [],
    })
    const byMessage = random() < 0.6
    const call = (): void => {
      if (byMessage) caller.ask(words)
      else caller.sendPosition(45.23, -36.74, `EMERGENCY ${words}`)
    }
    for (const afterMs of [0, 60_000 * random(), 240_000 + 200_000 * random()])
      clock.at(clock.monotonicMs() + 1_500 * index + afterMs, call)
  }
}

const three = (value: number): string => String(Math.floor(value)).padStart(3, '0')

const pick = <Value>(random: Random, values: readonly Value[]): Value =>
  values[Math.floor(random() * values.length)]!
