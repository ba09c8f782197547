import type { Port } from '../radio/port.js'
import { type Random, seededRandom } from '../runtime/random.js'
import type { VirtualClock } from '../runtime/virtualClock.js'
import { type Channel, createChannel } from './channel.js'
import { digipeater } from './digipeater.js'
import { type HandHeld, handHeld, type ShownMessage } from './handHeld.js'
import { simulatedRadio } from './simulatedRadio.js'

export interface ScenarioOptions {
  readonly clock: VirtualClock
  readonly seed: number
  /** questions of all stations together */
  readonly questionCount: number
  readonly stationCount: number
  /** of every frame, on every way */
  readonly lossShare: number
  /** mean pause of one station between two questions */
  readonly thinkMs?: number
}

/** People with hand-helds around a node, a digipeater between some of them, and what they ask. */
export interface Scenario {
  readonly channel: Channel
  readonly handHelds: readonly HandHeld[]
  readonly nodeCall: string
  /** what a station threw at its radio, and what a radio could not do; a good run has none */
  readonly faults: readonly string[]
  /** A radio for the node; a new one after its process died. */
  nodeRadio(): Port
  /** Lets everybody begin to ask. */
  start(): void
  /** everybody has asked what they wanted, collected their mail, and repeats nothing */
  readonly finished: boolean
  /** what was left for whom: the text is unique */
  readonly left: readonly { readonly from: string; readonly to: string; readonly token: string }[]
  /** of each question that is not mail: the word that its answer must hold */
  readonly asked: readonly {
    readonly from: string
    readonly token: string
    readonly number: string
  }[]
}

/** Call signs with a Q in front are given to nobody (ITU prefix series, from memory). */
export const nodeCall = 'Q0HUT-10'
export const nodeDutyShare = 0.2
const digipeaterCall = 'Q0DIG-1'
const thinkMsDefault = 200_000
const collectionsMax = 30
/** So long people wait for an answer before they ask something else. */
const giveUpAfterMs = 240_000

interface Person {
  readonly radio: HandHeld
  readonly random: Random
  /** in the drain: collects until nothing waits */
  collections: number
  satisfied: boolean
  /** waits for an answer to something since then */
  waitingSinceMs: number | undefined
}

const newcomer = { collections: 0, satisfied: false, waitingSinceMs: undefined }

export function createScenario(options: ScenarioOptions): Scenario {
  const { clock, seed, stationCount } = options
  const calls = Array.from({ length: stationCount }, (_, index) => callOf(index))
  const far = new Set(calls.filter((_, index) => index % 4 === 3))
  const channel = channelAmong(options, calls, far)
  const faults: string[] = []
  const radio = (call: string, radioSeed: number, dutyShare?: number): Port => {
    const one = simulatedRadio({ clock, random: seededRandom(radioSeed), channel, call, dutyShare })
    one.onEvent(({ kind, reason }) => {
      if (kind === 'fault') faults.push(`${call}: ${reason}`)
    })
    return one
  }
  digipeater({ port: radio(digipeaterCall, seed + 100), clock, call: digipeaterCall })

  const { left, asked, askSomething } = questioning(calls)
  let remaining = options.questionCount
  let nodeRadioCount = 0

  const people = calls.map((call, index): Person => {
    const own = seededRandom(seed + 1_000 + index)
    const path = far.has(call) || index % 2 === 0 ? ['WIDE1-1'] : []
    const onShown = (message: ShownMessage): void => noteShown(person, message)
    const port = radio(call, seed + 101 + index)
    const handset = handHeld({ port, clock, random: own, call, nodeCall, path, onShown })
    const person: Person = { radio: handset, random: own, ...newcomer }
    return person
  })

  const noteShown = (person: Person, { text }: ShownMessage): void => {
    // mail, and word of it, comes unasked
    if (!/^(Q0|Your message|\d+ messages? waits?)/.test(text)) person.waitingSinceMs = undefined
    if (everythingIsLeft() && text.startsWith('Nothing is waiting')) person.satisfied = true
  }

  // What is left after somebody's last look would wait for ever: nobody ends before all is left.
  let allLeft = false
  const everythingIsLeft = (): boolean => {
    allLeft ||=
      remaining === 0 &&
      people.every(({ radio }) =>
        radio.sent.every(({ state, text }) => state !== 'sending' || text === 'collect'),
      )
    return allLeft
  }

  const think = (person: Person, meanMs: number): void => {
    // exponential, so that questions come as by chance
    const waitMs = Math.min(10 * meanMs, -meanMs * Math.log(1 - person.random()))
    clock.at(clock.monotonicMs() + 1_000 + waitMs, () => live(person))
  }

  const live = (person: Person): void => {
    const { radio, waitingSinceMs } = person
    const nowMs = clock.monotonicMs()
    const patient = waitingSinceMs !== undefined && nowMs - waitingSinceMs < giveUpAfterMs
    if (!radio.idle || patient) think(person, 10_000)
    else if (remaining > 0) {
      remaining--
      person.waitingSinceMs = nowMs
      askSomething(person)
      if (person.random() < 0.2) radio.sendPosition(46.5 + person.random() / 10, 8.25)
      think(person, options.thinkMs ?? thinkMsDefault)
    } else if (!everythingIsLeft()) think(person, 30_000)
    else if (!person.satisfied && person.collections < collectionsMax) {
      person.collections++
      person.waitingSinceMs = nowMs
      radio.send('collect')
      think(person, 300_000)
    }
  }

  return {
    channel,
    nodeCall,
    faults,
    left,
    asked,
    handHelds: people.map(({ radio }) => radio),
    nodeRadio: () => radio(nodeCall, seed + 10_000 + nodeRadioCount++, nodeDutyShare),
    start() {
      for (const person of people) think(person, options.thinkMs ?? thinkMsDefault)
    },
    get finished() {
      const done = ({ radio, satisfied, collections }: Person): boolean =>
        radio.idle && (satisfied || collections >= collectionsMax)
      return remaining === 0 && people.every(done)
    },
  }
}

/** Those far away hear the digipeater only, and some of the others do not hear each other. */
function channelAmong(
  { clock, seed, lossShare }: ScenarioOptions,
  calls: readonly string[],
  far: ReadonlySet<string>,
): Channel {
  const deafPairs = pairsOf(calls, seededRandom(seed))
  return createChannel({
    clock,
    random: seededRandom(seed + 1),
    lossShare: () => lossShare,
    duplicateShare: 0.03,
    lateShare: 0.03,
    hears(from, to) {
      if (from === nodeCall || to === nodeCall) return !far.has(from) && !far.has(to)
      return !deafPairs.has(`${from} ${to}`)
    },
  })
}

interface Questioning {
  readonly left: { from: string; to: string; token: string }[]
  readonly asked: { from: string; token: string; number: string }[]
  askSomething(person: Person): void
}

/** What people ask, each with a word of its own by which its answer is known. */
function questioning(calls: readonly string[]): Questioning {
  const left: Questioning['left'] = []
  const asked: Questioning['asked'] = []
  let tokenCount = 0
  const askSomething = ({ radio, random: own }: Person): void => {
    const draw = own()
    const token = `T${++tokenCount}`
    if (draw < 0.1) {
      const to = calls[Math.floor(own() * calls.length)]!
      radio.send(`leave ${to} ${token} at the hut`)
      left.push({ from: radio.call, to, token })
    } else if (draw < 0.15) radio.send('collect')
    else {
      // one message in three is an answer of two parts
      const words = own() < 0.33 ? `${token}a/${token}b` : `${token}a`
      const { number } = radio.send(`say ${words}`)
      asked.push({ from: radio.call, token, number })
    }
  }

  return { left, asked, askSomething }
}

/** Q0AAA-7 and on. */
function callOf(index: number): string {
  const letter = (at: number): string => String.fromCharCode(65 + (at % 26))
  return `Q0${letter(index / 26)}${letter(index)}A-7`
}

/** One pair in five cannot hear each other, either way; all hear the digipeater. */
function pairsOf(calls: readonly string[], random: Random): Set<string> {
  const pairs = new Set<string>()
  for (const [index, a] of calls.entries()) {
    for (const b of calls.slice(index + 1)) {
      if (random() < 0.2) pairs.add(`${a} ${b}`).add(`${b} ${a}`)
    }
  }
  return pairs
}
