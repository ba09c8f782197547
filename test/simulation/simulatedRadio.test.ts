import { describe, expect, it } from 'vitest'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import type { TransmitOutcome } from '../../src/radio/port.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createChannel } from '../../src/simulation/channel.js'
import { simulatedRadio } from '../../src/simulation/simulatedRadio.js'

const call = 'Q0ONE-1'
const octets = encodeFrame(
  uiFrame({
    source: { call: 'Q0ONE', ssid: 1 },
    destination: { call: 'APZTST', ssid: 0 },
    path: [],
    payload: Buffer.from('>invented'),
  }),
)

describe('a simulated radio', () => {
  it('loses no request when a listener throws, and counts it', () => {
    const clock = virtualClock()
    const random = seededRandom(1)
    const channel = createChannel({ clock, random, lossShare: () => 0 })
    const radio = simulatedRadio({ clock, random, channel, call })
    const heard: string[] = []
    channel.attach({ name: 'other', busy: () => {}, heard: () => heard.push('frame') })
    const outcomes: TransmitOutcome[] = []
    const faults: string[] = []
    radio.onOutcome(() => {
      throw new Error('on purpose')
    })
    radio.onOutcome((outcome) => outcomes.push(outcome))
    radio.onEvent(({ kind, reason }) => {
      if (kind === 'fault') faults.push(reason)
    })
    const send = (id: string): void =>
      radio.send({ id, octets, priority: 'answer', notAfterMs: 60_000, origin: 'node' })
    send('a')
    clock.advanceBy(20_000)
    send('b')
    clock.advanceBy(20_000)
    expect(outcomes.map(({ id, kind }) => `${id} ${kind}`)).toEqual(['a sent', 'b sent'])
    expect(heard).toHaveLength(2)
    expect(radio.state().faultCount).toBe(2)
    expect(faults).toHaveLength(1)
  })
})
