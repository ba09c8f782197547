import { existsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { parseConfig } from '../../src/config/load.js'
import type { Config } from '../../src/config/schema.js'
import { writeControlFile } from '../../src/control/controlFile.js'
import { counterCode } from '../../src/control/oneTimeCode.js'
import { createNode } from '../../src/node/node.js'
import type { Clock } from '../../src/runtime/clock.js'
import { randomId, seededRandom } from '../../src/runtime/random.js'
import { helpService } from '../../src/services/help.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { type Channel, createChannel } from '../../src/simulation/channel.js'
import { digipeater } from '../../src/simulation/digipeater.js'
import { simulatedRadio } from '../../src/simulation/simulatedRadio.js'
import { openStore } from '../../src/store/store.js'
import { databaseName } from './disk.js'
import { laptopCall } from './laptopUser.js'
import { controlFileName } from './nodeLife.js'
import type { Paths, Place } from './paths.js'
import { type Manners, mannersOf } from './person.js'

/*
 * Where it all takes place: the node's configuration, the hills, and who else is there.
 */

export const nodeCall = 'Q0HUT-10'
export const secondCall = 'Q0TWO-5'
const digipeaterCall = 'Q0DIG-1'
export const hostileCall = 'Q9BAD-3'
const peopleCount = 22

export const nodeConfig = (): Config =>
  parseConfig(
    `
[station]
call = "${nodeCall}"
latitudeDeg = 45.231
longitudeDeg = -36.742
[store]
file = "${databaseName}"
[transmit]
enabled = true
[ptt]
kind = "log"
logFile = "ptt.log"
[audio]
output = "alsa:default"
[connected]
enabled = true
[[beacons.schedule]]
send = "status"
everyMinutes = 25
[[beacons.schedule]]
send = "position"
everyMinutes = 30
`,
    'campaign.toml',
  )

/** @param onSent told every frame that begins to be sent, by whomever */
export function openChannel(
  clock: Clock,
  paths: Paths,
  seed: number,
  onSent: (octets: Uint8Array) => void,
): Channel {
  const channel = createChannel({
    clock,
    random: seededRandom(seed),
    hears: paths.hears,
    captures: paths.captures,
    lossShare: paths.lossShare,
    duplicateShare: 0.01,
    lateShare: 0.005,
  })
  return {
    counters: channel.counters,
    attach: (listener) => channel.attach(listener),
    transmit: (from, lastsMs, frames) => {
      for (const { octets } of frames) onSent(octets)
      return channel.transmit(from, lastsMs, frames)
    },
  }
}

/**
 * Enrols the control operator, by a counter.
 * @returns the codes of his list
 */
export function enrolOperator(folder: string): string[] {
  const secret = Uint8Array.from({ length: 20 }, (_, index) => index * 7)
  const entry = { call: 'Q0OPR', goesBy: 'counter', secret, counter: 0 } as const
  const file = join(folder, controlFileName)
  if (!existsSync(file)) writeFileSync(file, '')
  writeControlFile(file, { secrets: [entry], hold: undefined })
  return Array.from({ length: 400 }, (_, counter) => counterCode(secret, counter, 6))
}

/** Somebody with a hand-held, before his radio is made. */
export interface PersonPlan {
  readonly call: string
  readonly manners: Manners
  readonly place: Place
  readonly path: readonly string[]
}

/** Two thirds hear each other; one in five needs the digipeater. */
export function planPeople(seed: number): PersonPlan[] {
  const random = seededRandom(seed)
  return Array.from({ length: peopleCount }, (_, index) => {
    const far = index % 5 === 4
    const distanceKm = far ? 10 + 6 * random() : 1 + 9 * random() ** 0.7
    const angle = 2 * Math.PI * random()
    return {
      call: `Q0A${String.fromCharCode(65 + index)}A-7`,
      manners: mannersOf[index % mannersOf.length]!,
      place: {
        xKm: distanceKm * Math.cos(angle),
        yKm: distanceKm * Math.sin(angle),
        heightM: 40 * random(),
      },
      path: far || random() < 0.2 ? ['WIDE1-1'] : [],
    }
  })
}

/**
 * Hills, a digipeater on one of them, and on another a node of the same make.
 * @param onSaid told whenever the other node says something to ours
 */
export function openNeighbours(
  clock: Clock,
  channel: Channel,
  paths: Paths,
  seed: number,
  onSaid: () => void,
): void {
  const { places } = paths
  places.set(nodeCall, { xKm: 0, yKm: 0, heightM: 400 })
  places.set(digipeaterCall, { xKm: 6, yKm: 5, heightM: 250 })
  places.set(secondCall, { xKm: -9, yKm: 4, heightM: 200 })
  places.set(laptopCall, { xKm: 4, yKm: 3, heightM: 60 })
  places.set(hostileCall, { xKm: 3, yKm: -2, heightM: 30 })
  const radioOf = (call: string) =>
    simulatedRadio({ clock, random: seededRandom(seed + call.length), channel, call })
  digipeater({ port: radioOf(digipeaterCall), clock, call: digipeaterCall })
  const random = seededRandom(seed + 77)
  const port = radioOf(secondCall)
  const heading = `:${nodeCall.padEnd(9)}:`
  createNode({
    ports: [
      {
        ...port,
        send(request) {
          const text = Buffer.from(request.octets).toString('latin1')
          if (text.includes(heading) && !/:(ack|rej)\w/.test(text)) onSaid()
          port.send(request)
        },
      },
    ],
    ...{ clock, random, nextId: () => randomId(random) },
    store: openStore({ file: ':memory:', clock, flushIntervalMs: 600_000 }),
    services: [helpService()],
    options: defaultNodeOptions({ call: secondCall }),
  }).start()
}
