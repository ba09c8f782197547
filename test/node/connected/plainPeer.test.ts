import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../../src/ax25/frame.js'
import { linkOptionsDefault } from '../../../src/ax25/session/linkState.js'
import { type PeerLink, peerLink } from '../../../src/node/connected/peerLink.js'
import type { Peer } from '../../../src/node/connected/session.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { linkAir } from './linkAir.js'
import { address } from './linkSession.js'
import { PlainPeer } from './plainPeer.js'

/** Our link and a station that somebody else wrote, on one channel. */
function meeting(seed: number, loss: number) {
  const clock = virtualClock()
  const air = linkAir({ clock, random: seededRandom(seed), loss })
  const plain = new PlainPeer(clock, 'Q7LAP', 'Q2VAN')
  plain.use(air.attach((octets) => plain.hear(octets)))
  const heard: number[] = []
  const ours: { peer?: Peer; ended?: string; resets: number } = { resets: 0 }
  const link: PeerLink = peerLink({
    ...{ clock, own: address('Q2VAN'), peer: address('Q7LAP'), path: [], link: linkOptionsDefault },
    ...{ frameOctets: 128, backlogOctetsMax: 20_000 },
    carrier: air.attach((octets) => {
      const read = decodeFrame(octets, { strict: true, modulo: link.modulo })
      if (read.ok) link.take(read.frame)
    }),
    onConnected: () => {},
    onReset: () => ours.resets++,
    onEnded: (end) => {
      ours.ended = end
    },
    openSession: (peer) => {
      ours.peer = peer
      return {
        begin: () => peer.write(welcome),
        receive: (octets) => heard.push(...octets),
        drained: () => {},
        // The answer to its call was lost, and it called again.
        reset: () => {
          heard.splice(0)
          peer.write(welcome)
        },
        ended: () => {},
      }
    },
  })
  link.mayConnect = true
  const until = (done: () => boolean, ms = 3600_000): boolean => {
    const endMs = clock.monotonicMs() + ms
    while (!done() && clock.nextAtMs() !== undefined && clock.monotonicMs() < endMs)
      clock.advanceTo(clock.nextAtMs()!)
    return done()
  }
  const heardText = (): string => new TextDecoder().decode(Uint8Array.from(heard))
  return { plain, link, ours, until, heardText }
}

const welcome = new TextEncoder().encode('welcome\r')
const letter = 'The hut is open, bring water. '.repeat(150)

describe("a laptop's station of version 2.0, written apart from our machine", () => {
  it.each([0, 0.1, 0.2])('connects, sends and gets a letter, and leaves; loss %s', (loss) => {
    for (let seed = 1; seed <= 10; seed++) {
      const { plain, link, ours, until, heardText } = meeting(seed, loss)
      plain.call()
      expect(until(() => plain.text.includes('welcome\r'))).toBe(true)
      plain.say(letter)
      expect(until(() => heardText() === letter && plain.isDone)).toBe(true)
      ours.peer!.write(new TextEncoder().encode(letter))
      expect(until(() => plain.text.endsWith(letter) && ours.peer!.waitingOctets === 0)).toBe(true)
      plain.leave()
      expect(until(() => plain.state === 'off' && link.isIdle)).toBe(true)
      expect(ours.ended).toBe('by the other station')
    }
  })

  it('is called: it knows no SABME, so it is asked with SABM', () => {
    const { plain, link, until } = meeting(3, 0)
    link.connect('2.2')
    expect(until(() => plain.text.includes('welcome\r'))).toBe(true)
    expect([plain.frmrCount, link.modulo]).toEqual([1, 8])
  })

  it('goes away: we ask, and end it', () => {
    const { plain, ours, until, link } = meeting(4, 0)
    plain.call()
    until(() => plain.text.includes('welcome\r') && ours.peer?.waitingOctets === 0)
    plain.hear = () => {}
    expect(until(() => ours.ended !== undefined)).toBe(true)
    expect([ours.ended, link.isOpen]).toEqual(['no answer', false])
  })
})
