// An event of many stations on one simulated channel: tactical names that change hands, messages to names and to lists.
import { formatMessage } from '../../src/aprs/format.js'
import { createNode } from '../../src/node/node.js'
import type { Clock } from '../../src/runtime/clock.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { helpService } from '../../src/services/help.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { openEvent } from '../../src/setup/openEvent.js'
import { type Channel, createChannel } from '../../src/simulation/channel.js'
import { type HandHeld, handHeld } from '../../src/simulation/handHeld.js'
import { simulatedRadio } from '../../src/simulation/simulatedRadio.js'
import { openStore } from '../../src/store/store.js'

export const nodeCall = 'Q0HUT-10'

export interface EventRun {
  readonly seed: number
  readonly stationCount: number
  readonly messageCount: number
  readonly lossShare: number
  /** on the disk, to be looked at afterwards */
  readonly file: string
}

/** Who held a name from a time on, as the operator gave it. */
export interface Holding {
  readonly name: string
  readonly call: string
  readonly fromMs: number
}

export interface ShownAt {
  readonly call: string
  readonly text: string
  readonly atMs: number
}

export interface AirFrame {
  readonly sent: boolean
  readonly octets: Uint8Array
  /** when it had come in, or was on the air */
  readonly atMs: number
}

export interface EventOutcome {
  readonly handHelds: readonly HandHeld[]
  readonly holdings: readonly Holding[]
  readonly shown: readonly ShownAt[]
  /** the token of each message to a name, and the name */
  readonly left: readonly { readonly from: string; readonly name: string; readonly token: string }[]
  /** frames that reached the node's radio, and those that went out of it, by the channel and not by the program */
  readonly air: readonly AirFrame[]
  readonly fromWallMs: number
  readonly toWallMs: number
}

/** Q0AAA-7 and on. */
const callOf = (at: number): string =>
  `Q0${String.fromCharCode(65 + Math.floor(at / 26))}${String.fromCharCode(65 + (at % 26))}A-7`

/** The channel as the node's radio has it: what comes to it and what it puts on the air is noted, cut short or not. */
function watchedChannel(channel: Channel, clock: Clock, air: AirFrame[]): Channel {
  return {
    ...channel,
    attach: (listener) =>
      channel.attach({
        ...listener,
        heard(octets) {
          air.push({ sent: false, octets: octets.slice(), atMs: clock.monotonicMs() })
          listener.heard(octets)
        },
      }),
    transmit(from, durationMs, frames) {
      for (const { octets, toMs } of frames)
        air.push({ sent: true, octets: octets.slice(), atMs: clock.monotonicMs() + toMs })
      return channel.transmit(from, durationMs, frames)
    },
  }
}

export async function runEvent(options: EventRun): Promise<EventOutcome> {
  const { seed, stationCount, messageCount } = options
  const clock = virtualClock(Date.UTC(2026, 5, 21, 6))
  const random = seededRandom(seed)
  const channel = createChannel({
    clock,
    random: seededRandom(seed + 1),
    lossShare: () => options.lossShare,
  })
  const store = openStore({ file: options.file, clock })
  const radio = (call: string, at: number) =>
    simulatedRadio({ clock, random: seededRandom(seed + 100 + at), channel, call })
  const air: AirFrame[] = []
  const port = simulatedRadio({
    ...{ clock, random: seededRandom(seed + 100), call: nodeCall },
    channel: watchedChannel(channel, clock, air),
  })
  const fromWallMs = clock.wallMs()
  let node: ReturnType<typeof createNode> | undefined
  const event = openEvent({
    options: {
      ...{ name: 'Ridge walk', fromWallMs, toWallMs: fromWallMs + 24 * 3_600_000 },
      ...{ isExercise: true, namesFile: '', presentMs: 1_800_000, status: '', announcements: [] },
    },
    ...{ clock, store, onNames: () => node?.namesChanged(), onNote: () => {} },
    onFault: (text) => {
      throw new Error(text)
    },
  })
  let id = 0
  node = createNode({
    ...{ ports: [port], clock, random: seededRandom(seed + 2), nextId: () => `n${++id}`, store },
    services: [...event.services, helpService(), leaveService, collectService],
    event,
    options: defaultNodeOptions({
      call: nodeCall,
      limits: { perStation: 60 },
      mailbox: { perSender: 100, perReceiver: 100, total: 2_000 },
    }),
  })
  node.start()

  const calls = Array.from({ length: stationCount }, (_, at) => callOf(at))
  const names = calls.map((_, at) => `CHECK${at + 1}`)
  const shown: ShownAt[] = []
  const handHelds = calls.map((call, at) =>
    handHeld({
      ...{
        port: radio(call, at + 1),
        clock,
        random: seededRandom(seed + 500 + at),
        call,
        nodeCall,
        path: [],
      },
      onShown: ({ text, atMs }) => shown.push({ call, text, atMs }),
    }),
  )
  const holdings: Holding[] = []
  const give = (at: number, call: string): void => {
    event.names.give(names[at]!, call, 'the test')
    holdings.push({ name: names[at]!, call, fromMs: clock.monotonicMs() })
  }
  for (const [at, call] of calls.entries()) give(at, call)

  const left: { from: string; name: string; token: string }[] = []
  const pick = (count: number): number => Math.floor(random() * count)
  const pauseMs = 40_000
  for (let sent = 0; sent < messageCount; sent++) {
    const from = handHelds[pick(stationCount)]!
    const name = names[pick(stationCount)]!
    const token = `T${sent}x`
    const way = random()
    if (way < 0.1) {
      const others = [name, names[pick(stationCount)]!, names[pick(stationCount)]!]
      from.send(`leave ${others.join(',')} ${token}`)
      for (const one of new Set(others)) left.push({ from: from.call, name: one, token })
    } else if (way < 0.3) {
      // Addressed to the name itself, and acknowledged by the node.
      left.push({ from: from.call, name, token })
      for (let time = 0; time < 3; time++)
        clock.at(clock.monotonicMs() + time * 9_000, () =>
          from.sendPayload(formatMessage({ addressee: name, text: token, number: `d${sent}` })),
        )
    } else {
      from.send(`leave ${name} ${token}`)
      left.push({ from: from.call, name, token })
    }
    // Two change places, most often while something is under way to one of them.
    if (random() < 0.4) {
      const [a, b] = [names.indexOf(name), pick(stationCount)]
      clock.at(clock.monotonicMs() + 3_000 + pick(40_000), () => {
        const [callA, callB] = [names[a]!, names[b]!].map((one) => event.names.holder(one)!)
        if (a === b) return
        give(a, callB!)
        give(b, callA!)
      })
    }
    handHelds[pick(stationCount)]!.sendPosition(45.2 + random() / 10, -36.7)
    await clock.advanceToAsync(clock.monotonicMs() + pauseMs * (0.5 + random()))
  }
  // Afterwards everybody is heard now and then, until nothing waits.
  for (let round = 0; round < 60 && node.state().mailboxCount > 0; round++)
    for (const one of handHelds) {
      one.sendPosition(45.2, -36.7)
      await clock.advanceToAsync(clock.monotonicMs() + 20_000)
    }
  await clock.advanceToAsync(clock.monotonicMs() + 600_000)
  node.stop()
  event.close()
  store.close()
  const toWallMs = clock.wallMs() + 1
  return { handHelds, holdings, shown, left, air, fromWallMs, toWallMs }
}
