import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type Random, seededRandom } from '../../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'
import { BrokerHill } from '../broker/brokerHill.js'
import { cutKinds, SimBroker } from '../broker/simBroker.js'
import { PowerCut, runSession, type SessionEnd, SimHill } from './hillSim.js'

export interface HillDaysOptions {
  readonly seed: number
  readonly days: number
  readonly lettersPerDay: number
  /** a row of nodes that hear only their neighbour, or all of them at one broker */
  readonly by?: 'radio' | 'broker'
  /** a text of a letter: what becomes of it is printed */
  readonly trace?: string
  /** where databases lie; a folder of its own in the temporary files where absent */
  readonly folder?: string
}

export interface HillDaysResult {
  readonly left: number
  readonly delivered: number
  readonly told: number
  readonly sessions: Readonly<Record<SessionEnd, number>>
  readonly powerCuts: number
  /** connections to the broker that broke, by what became of what was on its way */
  readonly brokerCuts: Readonly<Record<string, number>>
  /** by what was being written: cuts before it was on the disk, and after */
  readonly cutsAt: Readonly<Record<string, readonly [before: number, after: number]>>
  readonly restores: number
  /** left at a node after the copy that was put back was made, and handed to nobody before */
  readonly lostWithDisk: number
  /** of the hour in which most was sent, share of it */
  readonly worstShare: number
  readonly faults: readonly string[]
}

interface LeftLetter {
  readonly text: string
  readonly from: string
  readonly at: SimHill
  readonly atMs: number
  delivered: number
  told: number
  lost: boolean
}

const hourMs = 3_600_000
const stepMs = hourMs / 2
const names = ['Q1AAA', 'Q2BBB', 'Q3CCC']
const peopleEach = 8
export const dutyShare = 0.05
const yearMs = 365 * 24 * hourMs

/**
 * Days of three nodes in a row that hear only their neighbour, or that are all at one broker: people leave messages for people anywhere, move, collect; links break,
 * the power fails in the middle of anything, an old copy of a database is put back, a clock is years off.
 */
export function hillDays(options: HillDaysOptions): HillDaysResult {
  const folder = options.folder ?? mkdtempSync(join(tmpdir(), 'hills-'))
  const days = new Days(options, folder)
  try {
    return days.run()
  } finally {
    days.close()
    if (options.folder === undefined) rmSync(folder, { recursive: true, force: true })
  }
}

class Days {
  private readonly clock: VirtualClock = virtualClock()
  private readonly random: Random
  private readonly hills: SimHill[]
  private readonly broker: SimBroker | undefined
  private readonly sites: readonly BrokerHill[]
  private readonly brokerCuts: Record<string, number> = {}
  private readonly place = new Map<string, SimHill>()
  private readonly letters = new Map<string, LeftLetter>()
  private readonly faults: string[] = []
  private readonly sessions = { complete: 0, 'link cut': 0, 'power cut': 0, stopped: 0 }
  private readonly copies = new Map<SimHill, { file: string; atMs: number }>()
  private writtenCount = 0
  private powerCuts = 0
  private readonly cutsAt: Record<string, [number, number]> = {}
  private restores = 0
  private told = 0

  constructor(
    private readonly options: HillDaysOptions,
    private readonly folder: string,
  ) {
    this.random = seededRandom(options.seed)
    this.broker = options.by === 'broker' ? new SimBroker(this.clock) : undefined
    const { broker } = this
    const neighboursOf = (index: number): string[] =>
      names.filter((_, other) =>
        broker === undefined ? Math.abs(other - index) === 1 : other !== index,
      )
    this.hills = names.map(
      (call, index) =>
        new SimHill({
          ...{ clock: this.clock, random: this.random, call, folder, dutyShare },
          neighbours: neighboursOf(index),
          onReport: (to, text) => this.noteReport(to, text),
          onCut: ({ step, committed }) => {
            this.powerCuts++
            this.cutsAt[step] ??= [0, 0]
            this.cutsAt[step][committed ? 1 : 0]++
          },
          note: (kind, text, detail) => this.print(call, [kind, text, JSON.stringify(detail)]),
        }),
    )
    this.sites = this.hills.flatMap((hill, index) =>
      broker === undefined
        ? []
        : [new BrokerHill(this.clock, broker, hill.name, neighboursOf(index), '', hill)],
    )
    // A board without a clock chip: it wakes years ago.
    this.hills[2]!.wallOffsetMs = -6 * yearMs
    for (const [index, hill] of this.hills.entries())
      for (let person = 0; person < peopleEach; person++)
        this.place.set(`Q${index + 4}P${'ABCDEFGH'[person]}X`, hill)
  }

  run(): HillDaysResult {
    const { days, lettersPerDay } = this.options
    for (let day = 0; day < days; day++) {
      for (let step = 0; step < 48; step++) this.step(lettersPerDay / 48, true)
      this.disturb(day)
    }
    // Whatever is under way comes to its end: delivered, or past its time and told.
    for (let step = 0; step < 24; step++) this.step(0, false)
    for (let step = 0; step < 11 * 6; step++) this.step(0, false, 8 * stepMs)
    const all = [...this.letters.values()]
    for (const letter of all) this.judge(letter)
    return {
      left: all.length,
      delivered: all.filter(({ delivered }) => delivered > 0).length,
      told: this.told,
      ...{ sessions: this.sessions, powerCuts: this.powerCuts, cutsAt: this.cutsAt },
      brokerCuts: this.brokerCuts,
      restores: this.restores,
      lostWithDisk: all.filter(({ lost, delivered, told }) => lost && delivered + told === 0)
        .length,
      worstShare: Math.max(...this.hills.map(({ worstUsedMs }) => worstUsedMs)) / hourMs,
      faults: this.faults,
    }
  }

  close(): void {
    for (const hill of this.hills) hill.close()
  }

  private print(hill: string, words: readonly string[]): void {
    const { trace } = this.options
    if (trace === undefined || !words.join(' ').includes(trace)) return
    console.log((this.clock.monotonicMs() / hourMs).toFixed(2), hill, ...words)
  }

  private judge({ text, delivered, told, lost, at }: LeftLetter): void {
    if (delivered > 1) this.faults.push(`${text}, left at ${at.name}: delivered ${delivered} times`)
    if (delivered === 0 && told === 0 && !lost)
      this.faults.push(`${text}, left at ${at.name}: neither delivered nor told`)
  }

  private step(letters: number, isBusy: boolean, ms = stepMs): void {
    const { random, clock } = this
    const endMs = clock.monotonicMs() + ms
    for (const [call, hill] of this.place) if (random() < 0.3) hill.hear(call)
    for (let left = letters; left > 0; left--) if (random() < left) this.leave()
    if (isBusy && random() < 0.05) this.move()
    for (const hill of this.hills) if (isBusy && random() < 0.1) this.planCut(hill)
    this.planBrokerCut(isBusy)
    for (const site of this.sites) site.look()
    if (this.broker === undefined) this.meetAll(isBusy)
    for (const [call, hill] of this.place)
      if (random() < 0.5) this.guarded(() => this.collect(call, hill))
    // A timer of a node is the place where its power fails as well: then the others go on.
    while (clock.monotonicMs() < endMs) this.guarded(() => clock.advanceTo(endMs))
  }

  private meetAll(isBusy: boolean): void {
    for (const hill of this.hills) this.guarded(() => hill.look())
    for (const [one, other] of this.random() < 0.5
      ? [
          [0, 1],
          [1, 2],
        ]
      : [
          [2, 1],
          [1, 0],
        ])
      this.meet(this.hills[one!]!, this.hills[other!]!, isBusy)
  }

  /** Somebody's connection breaks at a step of what is handed over in the next half hour. */
  private planBrokerCut(isBusy: boolean): void {
    const { broker, random } = this
    if (broker === undefined) return
    if (broker.cut !== undefined) broker.cut = undefined
    if (!isBusy || random() < 0.5) return
    const kind = cutKinds[Math.floor(random() * cutKinds.length)]!
    broker.cut = { after: Math.floor(random() * 40), kind }
    broker.onCut = () => {
      this.brokerCuts[kind] = (this.brokerCuts[kind] ?? 0) + 1
    }
  }

  private collect(call: string, hill: SimHill): void {
    hill.collect(call, (text) => {
      this.print(hill.name, ['collected by', call, text])
      const letter = this.letters.get(text)
      if (letter !== undefined) letter.delivered++
    })
  }

  private leave(): void {
    const people = [...this.place.keys()]
    const from = people[Math.floor(this.random() * people.length)]!
    const to = people[Math.floor(this.random() * people.length)]!
    const at = this.place.get(from)!
    if (from === to) return
    const text = `letter ${++this.writtenCount} of ${this.options.seed}`
    const atMs = this.clock.monotonicMs()
    // Until it is acknowledged, a cut of the power may take it: its sender knows.
    const letter = { text, from, at, atMs, delivered: 0, told: 0, lost: true }
    this.letters.set(text, letter)
    this.guarded(() => {
      if (at.leave(`q ${text}`, from, to, text)) letter.lost = false
      else this.letters.delete(text)
    })
  }

  private move(): void {
    const people = [...this.place.keys()]
    const call = people[Math.floor(this.random() * people.length)]!
    this.place.set(call, this.hills[Math.floor(this.random() * this.hills.length)]!)
  }

  private planCut(hill: SimHill): void {
    hill.cut = { after: Math.floor(this.random() * 30), committed: this.random() < 0.5 }
  }

  private meet(one: SimHill, other: SimHill, isBusy: boolean): void {
    // Somebody hidden talks over it: the call fails, or the link breaks after some lines.
    if (isBusy && this.random() < 0.2) return
    // Nobody is called for nothing.
    const isWanted = [
      [one, other],
      [other, one],
    ].some(([from, to]) => from!.hasFor(to!.name))
    if (!isWanted) return
    const lines = isBusy && this.random() < 0.2 ? Math.floor(this.random() * 40) : undefined
    const end = runSession(this.clock, one, other, lines)
    this.sessions[end]++
  }

  private guarded(work: () => void): void {
    try {
      work()
    } catch (error) {
      if (!(error instanceof PowerCut)) throw error
      this.print(error.hill.name, ['power cut', this.options.trace ?? ''])
      this.restart(error.hill)
    }
  }

  private restart(hill: SimHill): void {
    const site = this.sites.find((one) => one.hill === hill)
    if (site === undefined) hill.begin()
    else site.restart()
  }

  /** Back-ups are made, one is put back now and then, clocks are set. */
  private disturb(day: number): void {
    const { random, hills } = this
    if (day % 5 === 1)
      for (const hill of hills) {
        const file = join(this.folder, `${hill.name}.copy`)
        hill.backUp(file)
        this.restart(hill)
        this.copies.set(hill, { file, atMs: this.clock.monotonicMs() })
      }
    if (day % 7 === 4) this.restore(hills[Math.floor(random() * hills.length)]!)
    if (day % 9 === 6) {
      const hill = hills[Math.floor(random() * hills.length)]!
      hill.wallOffsetMs = [0, -6 * yearMs, 3 * yearMs][Math.floor(random() * 3)]!
    }
  }

  private restore(hill: SimHill): void {
    const copy = this.copies.get(hill)
    if (copy === undefined) return
    const others = this.hills.filter((one) => one !== hill)
    const elsewhere = new Set(
      others.flatMap(({ store }) => store.hills.recent(20_000).map(({ text }) => text)),
    )
    for (const letter of this.letters.values())
      if (letter.at === hill && letter.atMs >= copy.atMs && !elsewhere.has(letter.text))
        letter.lost = true
    this.print(hill.name, ['a copy is put back', this.options.trace ?? ''])
    hill.restore(copy.file)
    this.restart(hill)
    this.restores++
  }

  private noteReport(_to: string, text: string): void {
    this.told++
    const named = /letter \d+ of \d+/.exec(text)?.[0]
    const letter = named === undefined ? undefined : this.letters.get(named)
    if (letter !== undefined) letter.told++
  }
}
