import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { encodeKiss } from '../../src/kiss/codec.js'
import { kissCommand } from '../../src/kiss/constants.js'
import type { ClientLink, ClientSession, KissHub } from '../../src/kiss/hub.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { addressOf } from './person.js'

/** Programs at the node's KISS ends: they come, send what is right and what is not, set things, and go. */
export interface Clients {
  act(seed: number, hub: KissHub): void
  /** the process that they were connected to is gone */
  lost(): void
}

const clientsMax = 4

export function kissClients(): Clients {
  let sessions: ClientSession[] = []
  let count = 0
  return {
    act(seed, hub) {
      const random = seededRandom(seed)
      if (sessions.length === 0 || (random() < 0.2 && sessions.length < clientsMax))
        sessions.push(hub.attach(link(random, ++count)))
      const at = Math.floor(random() * sessions.length)
      const session = sessions[at]!
      if (random() < 0.15) {
        session.detach()
        sessions.splice(at, 1)
        return
      }
      for (let left = random() < 0.1 ? 30 : 1 + Math.floor(2 * random()); left > 0; left--)
        pushInParts(session, octetsOf(random), random)
    },
    lost() {
      sessions = []
    },
  }
}

function link(random: Random, count: number): ClientLink {
  const isLocal = random() < 0.7
  return {
    name: isLocal ? `tcp 127.0.0.1:${40_000 + count}` : `tcp 10.0.0.7:${40_000 + count}`,
    isLocal,
    write: () => {},
    waitingOctets: () => (random() < 0.01 ? 1e6 : 0),
    waitingOctetsMax: 65_536,
    whenFull: 'client',
    drop: () => {},
  }
}

function octetsOf(random: Random): Uint8Array {
  const draw = random()
  if (draw < 0.25) {
    // settings, most of them foolish
    const command = 1 + Math.floor(random() * 6)
    return Buffer.from([0xc0, command, Math.floor(random() * 256), 0xc0])
  }
  if (draw < 0.4) {
    const noise = Array.from({ length: 1 + Math.floor(random() * 300) }, () =>
      Math.floor(random() * 256),
    )
    return Buffer.from([0xc0, 0x00, ...noise, 0xc0])
  }
  const call =
    draw < 0.8 ? `Q7CL${String.fromCharCode(65 + Math.floor(random() * 26))}-5` : 'Q0HUT-11'
  const data = encodeFrame(
    uiFrame({
      source: addressOf(call),
      destination: addressOf('APZ777'),
      path: [],
      payload: Buffer.from(`>client ${Math.floor(random() * 1e9)}`),
    }),
  )
  return encodeKiss({ port: random() < 0.05 ? 3 : 0, command: kissCommand.data, data })
}

function pushInParts(session: ClientSession, octets: Uint8Array, random: Random): void {
  const cut = Math.floor(random() * octets.length)
  session.push(octets.subarray(0, cut))
  session.push(octets.subarray(cut))
}
