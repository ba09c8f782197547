import { mkdtempSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import type { Config } from '../../src/config/schema.js'
import type { Priority } from '../../src/radio/port.js'
import type { TransmissionContent } from '../../src/radio/transmissionContent.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { nodeOptions } from '../../src/setup/nodeOptions.js'
import { transmitOptions } from '../../src/setup/transmitOptions.js'
import type { Channel } from '../../src/simulation/channel.js'
import type { NodeEvent } from '../../src/store/events.js'
import { gatherFileOf, readGathered } from '../../src/store/gatherFile.js'
import { migrations } from '../../src/store/schema.js'
import { kissClients } from './clients.js'
import { Disk } from './disk.js'
import type { FrameRadio } from './frameRadio.js'
import { frameText } from './frameText.js'
import { checkHealth } from './health.js'
import { type HelpWatch, helpWatch } from './helpWatch.js'
import type { HostileView } from './hostile.js'
import { laptopUser } from './laptopUser.js'
import { type WorldClock, worldClock } from './lifeClock.js'
import { memoryFolder } from './memoryFolder.js'
import { type LifeWatch, NodeLife } from './nodeLife.js'
import { Oracle } from './oracle.js'
import { type Misbehaviour, ownServices } from './ownServices.js'
import { createPaths, type Paths } from './paths.js'
import { Person } from './person.js'
import { PlainRadio } from './plainRadio.js'
import { Recoveries } from './recoveries.js'
import {
  enrolOperator,
  hostileCall,
  nodeCall,
  nodeConfig,
  openChannel,
  openNeighbours,
  type PersonPlan,
  planPeople,
  secondCall,
} from './setting.js'
import { type TalkWatch, talkWatch } from './talkWatch.js'
import { Counts } from './tally.js'
import { type TransmitWatch, transmitWatch } from './transmitWatch.js'

const overheardMax = 60
/** From a command to the hold: its answer goes out first. */
const holdsWithinMs = 10_000

/** Everything and everybody, on one virtual clock, out of one seed. */
export class World {
  readonly clock: VirtualClock
  readonly wall: WorldClock
  readonly oracle: Oracle
  readonly recoveries = new Recoveries()
  readonly faults = new Counts()
  readonly talk: TalkWatch
  readonly transmit: TransmitWatch
  private readonly help: HelpWatch
  private helpAbleMs = 0
  readonly paths: Paths
  readonly channel: Channel
  readonly people: Person[] = []
  readonly hostile: PlainRadio
  readonly clients = kissClients()
  readonly misbehaviour: Misbehaviour = { throws: false, hangs: false, grows: false }
  readonly codes: string[]
  life: NodeLife | undefined
  disk: Disk
  /** things that the node cannot be blamed for what it fails to do while they last */
  readonly excuses = new Set<string>()
  /** what clients gave while the disk took nothing is sent until then */
  unrecordedUntilMs = 0
  ableMs = 0
  ableForMs = 0
  holdExpected = false
  /** the number of the last life that ended without being told to */
  private killed = 0
  private holdSinceMs = 0
  private readonly awaitingQuestion: (() => void)[] = []
  questions = 0
  lives = 0
  private readonly folder: string
  private readonly overheard: Uint8Array[] = []
  private readonly config: Config
  private readonly random: Random
  private bootCount = 0
  private begunMs = 0
  private diskCount = 0
  private loopTimes: number[] = []
  private restartBooked = false

  /** @param trace told what happens, a line each */
  constructor(
    seed: number,
    private readonly trace?: (line: string) => void,
  ) {
    this.clock = virtualClock(Date.UTC(2026, 5, 1))
    this.wall = worldClock(this.clock)
    this.random = seededRandom(seed + 1)
    this.oracle = new Oracle(() => this.clock.monotonicMs())
    this.config = nodeConfig()
    this.paths = createPaths(this.clock, seed + 2)
    this.channel = openChannel(this.clock, this.paths, seed + 3, (octets) => {
      this.overheard.push(octets)
      if (this.overheard.length > overheardMax) this.overheard.shift()
    })
    const transmitting = transmitOptions(this.config, this.config.radios[0]!)
    this.transmit = transmitWatch(this.oracle, this.clock, transmitting)
    this.talk = talkWatch({
      ...{ oracle: this.oracle, clock: this.clock, nodeCall },
      ableMs: () => this.ableMs,
      database: () => {
        const { life } = this
        return life === undefined || life.store.degraded ? undefined : life.disk.connection
      },
    })
    this.help = helpWatch({
      ...{ oracle: this.oracle, clock: this.clock, nodeCall },
      reply: nodeOptions(this.config).emergency.reply,
      ableMs: () => this.helpAbleMs,
      isHeld: () => (this.life?.radio.heldBy.size ?? 0) > 0,
    })
    this.folder = mkdtempSync(join(memoryFolder(), 'ridgepost-campaign-'))
    this.disk = new Disk(this.newFolder())
    this.codes = enrolOperator(this.disk.folder)
    openNeighbours(this.clock, this.channel, this.paths, seed + 4, () =>
      this.loopTimes.push(this.clock.monotonicMs()),
    )
    for (const plan of planPeople(seed + 6)) this.people.push(this.person(plan))
    this.hostile = new PlainRadio({
      ...{ clock: this.clock, channel: this.channel, random: seededRandom(seed + 5) },
      call: hostileCall,
      onFrame: () => {},
    })
    laptopUser({
      ...{ clock: this.clock, channel: this.channel, oracle: this.oracle, nodeCall },
      seed: seed + 8,
    })
    this.every(5_000, () => this.tick())
  }

  get hostileView(): HostileView {
    const calls = this.people.map(({ call }) => call)
    return { nodeCall, secondCall, calls, overheard: this.overheard }
  }

  /** Called when the node has taken a question, or after so long without one. */
  atNextQuestion(waitMsMax: number, run: () => void): void {
    let isDone = false
    const once = (): void => {
      if (!isDone) run()
      isDone = true
    }
    this.awaitingQuestion.push(once)
    this.clock.at(this.clock.monotonicMs() + waitMsMax, once)
  }

  /** A new process on the files as they are. */
  start(): void {
    this.restartBooked = false
    if (this.life !== undefined) return
    this.lives++
    this.begunMs = this.clock.monotonicMs()
    const wasGathered = readGathered(gatherFileOf(this.disk.database)).length > 0
    this.note(`life ${this.lives}`)
    try {
      this.life = new NodeLife({
        config: this.config,
        clock: this.wall,
        random: seededRandom(Math.floor(this.random() * 2 ** 31)),
        channel: this.channel,
        disk: this.disk,
        bootId: `boot ${this.bootCount}`,
        ownServices: ownServices(this.misbehaviour, this.wall),
        watch: this.watch(),
      })
    } catch (error) {
      // Whoever supervises it starts it again, as the unit says.
      this.recoveries.add('a start failed and was tried again')
      this.startErrors.push(String((error as Error).message))
      this.oracle.check(
        'nothing ends the process',
        this.startErrors.length < 8,
        () => `it does not start: ${this.startErrors.at(-1)}`,
      )
      this.startIn(5_000)
      return
    }
    this.startErrors = []
    this.talk.lifeBegan(this.life.safe)
    this.help.lifeBegan()
    if (this.life.store.degraded || this.life.safe) this.help.forget()
    this.noteStart(this.life, wasGathered)
    if (this.holdExpected) this.checkHold(this.life)
  }
  private startErrors: string[] = []

  startIn(ms: number): void {
    if (this.restartBooked) return
    this.restartBooked = true
    this.clock.at(this.clock.monotonicMs() + ms, () => this.start())
  }

  /** The process is gone at this moment; the next one has what `leave` makes of its files. */
  endLife(leave: (disk: Disk, folder: string) => Disk): void {
    const { life } = this
    if (life === undefined) return
    this.checkHealth(life)
    this.disk = leave(this.disk, this.newFolder())
    this.killed = this.lives
    life.end()
    this.afterLife(life)
    // It may be in the middle of a transaction: its files are let go of when nothing of it is on the stack any more.
    this.clock.at(this.clock.monotonicMs(), () => life.bury())
  }

  /** Told to stop, it ends by itself, which takes some seconds. */
  async stopLife(): Promise<void> {
    const { life } = this
    if (life === undefined) return
    const next = this.newFolder()
    this.checkHealth(life)
    await life.stop()
    if (this.life !== life) return
    this.disk = life.disk.copyTo(next)
    this.afterLife(life)
    life.bury()
  }

  /** What was in the database may be gone. */
  forgetPast(): void {
    this.talk.forget()
    this.help.forget()
  }

  clockSet(): void {
    this.talk.clockSet()
    this.help.clockSet()
  }

  newBoot(): void {
    this.bootCount++
  }

  get bootId(): number {
    return this.bootCount
  }

  person({ call, manners, place, path }: PersonPlan): Person {
    this.paths.places.set(call, place)
    return new Person({
      ...{ clock: this.clock, channel: this.channel, call, nodeCall, path, manners },
      random: seededRandom(Math.floor(this.random() * 2 ** 31)),
    })
  }

  every(ms: number, run: () => void): void {
    const again = (): void => {
      run()
      this.clock.at(this.clock.monotonicMs() + ms, again)
    }
    this.clock.at(this.clock.monotonicMs() + ms, again)
  }

  close(): void {
    const { life } = this
    // One that is stopping at this moment finds that it is no more looked at.
    this.life = undefined
    life?.end()
    life?.bury()
    rmSync(this.folder, { recursive: true, force: true })
  }

  private afterLife(life: NodeLife): void {
    if (this.life !== life) return
    this.life = undefined
    this.ableForMs = 0
    this.transmit.lifeEnded()
    if (life.disk.fault === 'read-only') this.transmit.forgetSpans()
    this.talk.lifeEnded()
    if (life.store.degraded) this.help.forget()
    this.help.lifeEnded()
    this.clients.lost()
  }

  private tick(): void {
    const { life } = this
    const hindered = life === undefined || this.isHindered(life)
    // Nothing from outside keeps it from answering just now.
    const able = !hindered && life?.radio.hearsCarrier === false
    if (able) this.ableMs += 5_000
    this.ableForMs = able ? this.ableForMs + 5_000 : 0
    if (
      life !== undefined &&
      this.holdExpected &&
      this.clock.monotonicMs() - this.holdSinceMs > holdsWithinMs
    )
      this.checkHold(life)
    this.transmit.tick(this.ableForMs)
    this.talk.tick(hindered)
    const helpIsHindered = life === undefined || this.isHindered(life, 'emergency')
    if (!helpIsHindered && life?.radio.hearsCarrier === false) this.helpAbleMs += 5_000
    this.help.tick(helpIsHindered)
    if (life !== undefined && this.clock.monotonicMs() % 60_000 === 0) this.checkHealth(life)
  }

  private isHindered({ radio, startedMs }: NodeLife, priority: Priority = 'answer'): boolean {
    if (this.excuses.size > 0 || radio.heldBy.size > 0 || radio.deafSinceMs !== undefined)
      return true
    if (this.clock.monotonicMs() - startedMs < 5_000) return true
    return radio.airtime().freeMs(priority) <= 3_000
  }

  private checkHealth(life: NodeLife): void {
    const nowMs = this.clock.monotonicMs()
    this.loopTimes = this.loopTimes.filter((atMs) => nowMs - atMs < 600_000)
    checkHealth(this.oracle, life, this.loopTimes.length)
  }

  private watch(): LifeWatch {
    const lifeNumber = this.lives
    // Killed in the middle of a write, what is left of it runs to the end of its step: nobody sees that.
    const isCurrent = (): boolean => lifeNumber === this.lives && lifeNumber !== this.killed
    return {
      requested: (request) => void (isCurrent() && this.transmit.requested(request)),
      ended: (id) => void (isCurrent() && this.transmit.ended(id)),
      delivered: (octets, repairedBits) => {
        this.traceFrame('heard', octets)
        this.recoveries.shows('heard')
        this.talk.delivered(octets, repairedBits)
        this.help.delivered(octets, repairedBits)
      },
      keyed: (content, radio) => this.keyed(content, radio),
      unkeyed: (whole) => this.transmit.unkeyed(whole),
      event: (event) => {
        if (isCurrent()) this.told(event)
      },
      fault: (text, code) => {
        this.note(`fault ${code} ${text}`)
        if (isCurrent()) this.recovered(text, code)
      },
      mistake: (text) => {
        if (isCurrent()) this.oracle.check('nothing ends the process', false, () => text)
      },
    }
  }

  /** While its process begins, there is no life to look at yet. */
  private keyed(content: TransmissionContent, radio: FrameRadio): void {
    this.recoveries.shows('keyed')
    for (const request of this.transmit.keyed(content, radio)) {
      this.traceFrame('sends', request.octets)
      if (request.origin === 'kiss') this.checkClient(request.octets, this.life)
      else {
        this.talk.sent(request.octets)
        this.help.sent(request.octets)
      }
    }
  }

  private noteStart({ radio, store, disk }: NodeLife, wasGathered: boolean): void {
    const { recoveries } = this
    if (this.holdExpected && radio.heldBy.size > 0)
      recoveries.add('a hold by radio survived a restart')
    if (radio.duty().owedSinceMs !== undefined)
      recoveries.add('an identification that was owed went over a restart')
    if (store.degraded) return
    if (wasGathered) recoveries.add('what was gathered before a kill was found again')
    if (disk.connection?.pragma('user_version') === migrations.length)
      this.recoveries.shows('migrated')
  }

  private checkHold({ radio }: NodeLife): void {
    this.oracle.check(
      "the control operator's hold survives",
      radio.heldBy.has('control operator'),
      () => 'it sends again, and nobody has released it',
    )
  }

  private note(line: string): void {
    this.trace?.(`${(this.clock.monotonicMs() / 1000).toFixed(1)} ${line}`)
  }

  private traceFrame(what: string, octets: Uint8Array): void {
    if (this.trace !== undefined) this.note(`${what} ${frameText(octets)}`)
  }

  private told(event: NodeEvent): void {
    const { kind, text, station, reason, reference } = event
    if (kind !== 'heard')
      this.note(`  ${kind} ${station ?? ''} ${text}${reason ? ` (${reason})` : ''}`)
    const { oracle } = this
    if (kind === 'delivered' && station !== undefined) this.talk.letterDelivered(station, text)
    if (kind === 'expired' && reason === 'not collected in time') {
      const sinceMs = Math.max(this.wall.wallSetAtMs, this.life?.startedMs ?? 0)
      const agreedMs = this.clock.monotonicMs() - sinceMs
      oracle.check(
        'nothing expires on a clock that is not trusted',
        agreedMs >= 3_590_000,
        () => `${text}: the clocks have agreed for ${Math.round(agreedMs / 60_000)} minutes`,
      )
    }
    if (kind === 'control') this.controlled(text)
    if (kind === 'asked') {
      this.recoveries.shows('asked')
      for (const run of this.awaitingQuestion.splice(0)) run()
    }
    if (kind === 'answered' && /^[TP]\d+a/.test(text)) this.recoveries.shows('said')
    if (
      kind === 'queued' &&
      /^M/.test(reference ?? '') &&
      this.clock.monotonicMs() === this.begunMs
    )
      this.recoveries.add('what was left open was taken up again')
    if (kind === 'fault') this.recovered(reason ?? text, text)
    if (kind === 'answered' && station !== undefined) this.help.said(station, text)
    if (kind === 'answered' && this.misbehaviour.hangs && text.startsWith('Sorry'))
      this.recoveries.add('who asked a service that hangs was told')
  }

  private controlled(text: string): void {
    if (!text.endsWith(': done')) return
    this.recoveries.add('held or released by radio')
    this.holdExpected = text.startsWith('hold')
    this.holdSinceMs = this.clock.monotonicMs()
  }

  private recovered(text: string, code: string): void {
    this.recoveries.told(`${code}: ${text}`)
    if (/store-damaged/.test(code)) this.forgetPast()
  }

  /** Whatever a client sends is in the database before it is keyed, but for what came while the disk took nothing. */
  private checkClient(octets: Uint8Array, life: NodeLife | undefined): void {
    if (life === undefined || life.store.degraded || this.excuses.has('disk')) return
    if (this.clock.monotonicMs() < this.unrecordedUntilMs) return
    const row = life.disk.connection?.get('SELECT 1 FROM transmissions WHERE octets = ?', octets)
    this.oracle.check('what clients had sent is on record', row !== undefined, () =>
      Buffer.from(octets).toString('hex'),
    )
  }

  private readonly newFolder = (): string => join(this.folder, String(this.diskCount++))
}
