import { existsSync, readFileSync } from 'node:fs'
import { safeStart } from '../../src/cli/run/safeStart.js'
import { countStart } from '../../src/cli/run/startCount.js'
import type { Config } from '../../src/config/schema.js'
import { createKissHub, type KissHub } from '../../src/kiss/hub.js'
import { connectedMode } from '../../src/node/connected/connectedMode.js'
import { createNode } from '../../src/node/node.js'
import { radioJournal } from '../../src/node/radioJournal.js'
import type { ServiceNode } from '../../src/node/serviceNode.js'
import { openAirtimeFile } from '../../src/radio/airtimeFile.js'
import { boundedPort } from '../../src/radio/boundedPort.js'
import { createKissHost } from '../../src/radio/kissHost.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { wrapPort } from '../../src/radio/wrapPort.js'
import { clockTrust } from '../../src/runtime/clockTrust.js'
import { createGuard, guardedClock } from '../../src/runtime/guard.js'
import { type Random, randomId } from '../../src/runtime/random.js'
import { createServices } from '../../src/services/all.js'
import type { Service } from '../../src/services/service.js'
import { clientRecord } from '../../src/setup/clientRecord.js'
import { connectedOptions } from '../../src/setup/connectedOptions.js'
import { nodeOptions, storeOptions } from '../../src/setup/nodeOptions.js'
import { openControl } from '../../src/setup/openControl.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { transmitOptions } from '../../src/setup/transmitOptions.js'
import type { Channel } from '../../src/simulation/channel.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore, type Store } from '../../src/store/store.js'
import { airtimeName, type Disk } from './disk.js'
import { FrameRadio, type RadioWatch } from './frameRadio.js'
import { Thread, type WorldClock } from './lifeClock.js'

export interface LifeOptions {
  readonly config: Config
  readonly clock: WorldClock
  readonly random: Random
  readonly channel: Channel
  readonly disk: Disk
  /** changes with each loss of power */
  readonly bootId: string
  readonly ownServices: readonly Service[]
  readonly watch: LifeWatch
}

/** Who sees what the node does and tells. */
export interface LifeWatch extends RadioWatch {
  event(event: NodeEvent): void
  /** a fault of disk, device or data, in words */
  fault(text: string, code: string): void
  /** a mistake of the program, caught or not */
  mistake(text: string): void
}

export const controlFileName = 'control.json'

/** One life of the node's process: everything from the database to the radio, as `run` puts it together. */
export class NodeLife {
  readonly main: Thread
  readonly radioThread: Thread
  readonly radio: FrameRadio
  readonly node: ServiceNode
  readonly store: Store
  readonly hub: KissHub
  readonly startedMs: number
  readonly safe: boolean
  readonly disk: Disk
  private readonly closeRest: () => void
  private readonly sound: () => void

  /** @throws what a start throws */
  constructor(private readonly options: LifeOptions) {
    const { config, clock: world, watch, disk } = options
    this.disk = disk
    this.startedMs = world.monotonicMs()
    const thrown = (error: unknown): void => watch.mistake(`thrown: ${(error as Error).stack}`)
    this.main = new Thread(world, thrown)
    this.radioThread = new Thread(world, thrown)
    const told = (text: string): void => watch.fault(text, '')
    const guard = createGuard(({ what, reason }) => watch.mistake(`${what}: ${reason}`))
    const clock = guardedClock(this.main.clock, guard)
    const starts = countStart({
      database: disk.database,
      bootId: options.bootId,
      onFault: told,
    })
    const radioOptions = transmitOptions(config, config.radios[0]!)
    const airtime = openAirtimeFile({
      file: `${disk.folder}/${airtimeName}`,
      clock,
      bootId: options.bootId,
      dutyLimits: radioOptions.dutyLimits,
      timeOutMs: radioOptions.timeOutMs,
      ranBefore: existsSync(disk.database),
      onFault: told,
      disk: disk.airtimeDisk,
    })
    this.radio = new FrameRadio({
      ...{ channel: options.channel, random: options.random, watch },
      clock: this.radioThread.clock,
      call: config.station.call,
      transmit: radioOptions,
      past: airtime.past(),
    })
    const opened: (() => void)[] = []
    try {
      const port = boundedPort(this.mainPort(), { clock, onDropped: told, onFault: watch.mistake })
      airtime.follow(port)
      const safe = safeStart(starts.failedStarts, disk.database)
      this.safe = safe !== undefined
      const trust = clockTrust(clock)
      const store = openStore({
        ...storeOptions(config, disk.folder, clock, (failure) =>
          watch.fault(failure.message, failure.code),
        ),
        clockTrust: trust,
        withoutFile: safe?.withoutDatabase ?? false,
        openFile: disk.openFile,
      })
      this.store = store
      opened.push(() => store.close())
      if (safe !== undefined) watch.fault(safe.words, safe.withoutDatabase ? 'safe 2' : 'safe 1')
      const journal = radioJournal(store, clock)
      port.onEvent((event) => journal('radio 0', event))
      const services = createServices(
        serviceOptions(config, disk.folder, clock, (event) => {
          if (event.kind === 'fault') told(event.reason)
        }),
      )
      opened.push(() => void services.close())
      const control = openControl({
        file: `${disk.folder}/${controlFileName}`,
        window: config.control.window,
        clock,
        clockTrust: trust,
        ports: [port],
        onCommand: (text) => {
          const event = { atWallMs: clock.wallMs(), kind: 'control', text } as const
          store.events.add(event)
          watch.event(event)
        },
        onFault: told,
      })
      opened.push(() => control.close())
      const nextId = (): string => randomId(options.random)
      this.node = createNode({
        ports: [port],
        ...{ clock, clockTrust: trust, random: options.random, nextId, store },
        services: [...control.services, ...services.services, ...options.ownServices],
        options: nodeOptions(config),
        connected: (given) => connectedMode({ ...given, options: connectedOptions(config) }),
        onEvent: (event) => {
          if (!this.main.dead) watch.event(event)
        },
      })
      this.hub = this.openHub(port, store, nextId)
      this.node.start({ withoutPast: this.safe })
    } catch (error) {
      for (const close of opened.reverse()) close()
      this.end()
      throw error
    }
    this.closeRest = () => {
      for (const close of opened.reverse()) close()
    }
    this.sound = () => starts.sound()
    clock.at(clock.monotonicMs() + 60_000, () => starts.sound())
  }

  /** Nothing of it runs any more, at this very moment; its files stay as they are. */
  end(): void {
    this.main.dead = true
    this.radioThread.dead = true
    this.radio.die()
  }

  /** What the system does for a process that is gone: its files are let go of. */
  bury(): void {
    try {
      this.node?.stop()
      this.closeRest?.()
    } catch {
      // a ghost: its files are of no use to anybody
    }
    this.disk.close()
  }

  /** As `run` does when it is told to stop. */
  async stop(): Promise<void> {
    this.sound()
    const before = this.node.state().faultCount
    this.node.stop()
    const count = this.node.state().faultCount - before
    if (count > 0) this.options.watch.mistake(`${count} mistakes were caught while it stopped`)
    await this.radio.close()
    this.closeRest()
    this.end()
  }

  get faultCount(): number {
    return this.node.state().faultCount + this.radio.faultCount
  }

  /** The radio as the main thread has it: what it tells waits while the thread is stalled, and so does what it is told. */
  private mainPort(): RadioPort {
    const { main, radio } = this
    return wrapPort(radio, {
      send: (request) => main.tell(() => radio.send(request)),
      withdraw: (id) => main.tell(() => radio.withdraw(id)),
      hold: (source, reason) => main.tell(() => radio.hold(source, reason)),
      release: (source) => main.tell(() => radio.release(source)),
      setAccess: (change) => main.tell(() => radio.setAccess(change)),
      onFrame: (listener) => radio.onFrame((frame) => main.run(() => listener(frame))),
      onOutcome: (listener) => radio.onOutcome((outcome) => main.run(() => listener(outcome))),
      onEvent: (listener) => radio.onEvent((event) => main.run(() => listener(event))),
    })
  }

  private openHub(port: RadioPort, store: Store, nextId: () => string): KissHub {
    const { config, watch } = this.options
    const { kiss } = config
    const { clock } = this.main
    const host = createKissHost({
      ...{ ports: [port], clock, nextId, ownCall: config.station.call },
      localMaySend: kiss.localMaySend,
      remoteMaySend: kiss.remoteMaySend,
      frameLifeMs: kiss.frameLifeS * 1000,
      fullDuplexAllowed: kiss.fullDuplexAllowed,
      bounds: {
        meanWaitMsMax: kiss.meanWaitMsMax,
        keyDelayMsMax: kiss.keyDelayMsMax,
        tailMsMax: kiss.tailMsMax,
      },
      record: clientRecord({ store, clock, onEvent: (event) => watch.event(event) }),
    })
    const { receiveOnly, parametersAllowed } = kiss
    const hub = createKissHub({ host, receiveOnly, parametersAllowed })
    host.connect(hub)
    return hub
  }
}

/** The control file's hold, as it is on the disk. */
export function keptHold(disk: Disk): boolean {
  const file = `${disk.folder}/${controlFileName}`
  if (!existsSync(file)) return false
  return (JSON.parse(readFileSync(file, 'utf8')) as { hold?: unknown }).hold !== undefined
}
