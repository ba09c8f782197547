import { describe, expect, it } from 'vitest'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createAir } from '../../src/simulation/air.js'

const frameOf = (text: string): Uint8Array =>
  Buffer.concat([
    Buffer.from('82a082b4a44060a8b29eaa404061', 'hex'),
    Buffer.from([0x03, 0xf0]),
    Buffer.from(text),
  ])

/** Three stations; the middle one listens, the others send when told to. */
function threeStations(cnrDb: { one: number; two: number }) {
  const clock = virtualClock()
  const air = createAir({
    clock,
    random: seededRandom(7),
    pathCnrDb: (from, to) => (to === 'middle' ? cnrDb[from as 'one' | 'two'] : 20),
  })
  const middle = air.join('middle')
  const senders = { one: air.join('one'), two: air.join('two') }
  const receiver = createReceiver({ sampleRateHz: air.sampleRateHz, repair: 'none' })
  const heard: string[] = []
  middle.source.open({
    onBlock: (block) => {
      for (const frame of receiver.push(block))
        heard.push(Buffer.from(frame.octets.slice(16)).toString())
    },
    onFault: () => undefined,
    onEnd: () => undefined,
  })
  const send = async (name: 'one' | 'two'): Promise<void> => {
    const { ptt, sink } = senders[name]
    ptt.key()
    await sink.play(
      modulateTransmission({
        frames: [frameOf(`from ${name}`)],
        preambleMs: 300,
        tailMs: 50,
        sampleRateHz: air.sampleRateHz,
        peakLevel: 0.6,
      }),
    )
    ptt.unkey()
  }
  const listen = async (): Promise<string[]> => {
    await clock.advanceToAsync(clock.monotonicMs() + 2500)
    air.close()
    return heard
  }
  return { send, listen, middle }
}

describe('simulated air', () => {
  it('a frame crosses a good path', async () => {
    const { send, listen } = threeStations({ one: 15, two: 15 })
    void send('one')
    expect(await listen()).toEqual(['from one'])
  })

  it('a path that is gone carries nothing', async () => {
    const { send, listen } = threeStations({ one: Number.NEGATIVE_INFINITY, two: 15 })
    void send('one')
    expect(await listen()).toEqual([])
  })

  it('of two at once the much stronger one captures the receiver, equal ones spoil each other', async () => {
    const unequal = threeStations({ one: 30, two: 10 })
    void unequal.send('one')
    void unequal.send('two')
    expect(await unequal.listen()).toEqual(['from one'])
    const equal = threeStations({ one: 20, two: 20 })
    void equal.send('one')
    void equal.send('two')
    expect(await equal.listen()).toEqual([])
  })

  it('a keyed station is deaf, and an unkeyed one sends nothing', async () => {
    const { send, listen, middle } = threeStations({ one: 20, two: 20 })
    middle.ptt.key()
    void send('one')
    expect(await listen()).toEqual([])
  })
})
