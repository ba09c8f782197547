import { type Random, seededRandom } from '../../src/runtime/random.js'

/** What befalls the node; each kind is counted, and must come often enough. */
export const faultKinds = [
  'kill',
  'kill in a write',
  'kills one after the other',
  'power cut',
  'orderly restart',
  'disk full',
  'disk slow',
  'disk read-only',
  'disk unusable at a start',
  'audio lost',
  'audio stalled',
  'audio slips',
  'output lost',
  'helper killed',
  'clock set by seconds',
  'clock set by hours',
  'clock set by years',
  'service throws',
  'service hangs',
  'service grows',
  'rows damaged',
  'file damaged',
  'older database',
  'database deleted',
] as const
export type FaultKind = (typeof faultKinds)[number]

/** What others do, besides. */
export const trafficKinds = [
  'ask',
  'travel',
  'weather',
  'client',
  'hostile',
  'flood',
  'loop',
  'misread',
  'operator holds',
  'control',
  'stranger',
  'call for help',
] as const
export type TrafficKind = (typeof trafficKinds)[number]

/** One thing that happens. What it is in detail follows from its own seed, so that leaving out others changes nothing of it. */
export interface Stimulus {
  readonly id: number
  readonly atMs: number
  readonly kind: FaultKind | TrafficKind
  readonly seed: number
  /** of faults: how long they last, at most */
  readonly lastsMs: number
}

export interface ScheduleOptions {
  readonly seed: number
  readonly hours: number
  /** a mean hour's questions */
  readonly questionsAnHour?: number
}

const minuteMs = 60_000
export const hourMs = 3_600_000
const callsAnHour = 1.5

/**
 * In the first part of each hour things go wrong, more than one at a time; when the last of them is over, a stranger asks.
 * People ask all the time, in some hours all at once.
 */
export function planSchedule(options: ScheduleOptions): Stimulus[] {
  const random = seededRandom(options.seed)
  const planned: Omit<Stimulus, 'id'>[] = []
  const add = (kind: Stimulus['kind'], atMs: number, lastsMs = 0): void => {
    planned.push({ kind, atMs: Math.round(atMs), seed: Math.floor(random() * 2 ** 31), lastsMs })
  }
  for (let hour = 0; hour < options.hours; hour++) {
    const fromMs = hour * hourMs
    planFaults(random, fromMs, add)
    planTraffic(random, fromMs, options.questionsAnHour ?? 21, add)
  }
  planCalls(seededRandom(options.seed + 5_000_000), options.hours, planned)
  return planned.sort((a, b) => a.atMs - b.atMs).map((one, id) => ({ id, ...one }))
}

/** Out of draws of their own, in bad hours and good ones. */
function planCalls(random: Random, hours: number, into: Omit<Stimulus, 'id'>[]): void {
  for (let count = callsAnHour * hours; count > 0; count--) {
    const atMs = Math.round(random() * hours * hourMs)
    const seed = Math.floor(random() * 2 ** 31)
    into.push({ kind: 'call for help', atMs, seed, lastsMs: 0 })
  }
}

type Add = (kind: Stimulus['kind'], atMs: number, lastsMs?: number) => void

const faultsFromMs = 4 * minuteMs
const faultsUntilMs = 34 * minuteMs
const faultMsMax = 8 * minuteMs
/** Less than the hour in which a clock comes to be trusted. */
const clockMsMax = 24 * minuteMs

function planFaults(random: Random, fromMs: number, add: Add): void {
  let overMs = fromMs + faultsFromMs
  const count = 1 + Math.floor(random() * 4)
  for (let index = 0; index < count; index++) {
    const kind = faultKinds[Math.floor(random() * faultKinds.length)]!
    const atMs = fromMs + faultsFromMs + random() * (faultsUntilMs - faultsFromMs)
    // most are short, some overlap others for long
    const longMs = kind.startsWith('clock') ? clockMsMax : faultMsMax
    const lastsMs = Math.round(20_000 + random() ** 3 * (longMs - 20_000))
    add(kind, atMs, lastsMs)
    overMs = Math.max(overMs, atMs + lastsMs)
  }
  add('stranger', overMs + 1_000)
}

function planTraffic(random: Random, fromMs: number, questionsAnHour: number, add: Add): void {
  const anywhere = (): number => fromMs + random() * hourMs
  const early = (): number => fromMs + random() * 40 * minuteMs
  const times = (mean: number, kind: TrafficKind, at: () => number): void => {
    for (let left = Math.floor(mean + random()); left > 0; left--) add(kind, at())
  }
  const rush = random() < 0.15
  const rushMs = fromMs + random() * 30 * minuteMs
  times(questionsAnHour, 'ask', () =>
    rush && random() < 0.6 ? rushMs + random() * 3 * minuteMs : anywhere(),
  )
  times(4, 'travel', anywhere)
  times(3, 'weather', anywhere)
  times(5, 'client', early)
  times(14, 'hostile', anywhere)
  times(0.25, 'flood', early)
  times(0.3, 'loop', early)
  times(1.5, 'misread', anywhere)
  times(0.4, 'operator holds', early)
  times(0.5, 'control', early)
}
