// A client of plain sockets, the real TCP end, and two whole radios (receiver, controller, modulator) on one virtual
// clock: what the client sends is on the right radio's air, and what a radio hears reaches the client.
import { afterEach, describe, expect, it } from 'vitest'
import type { AudioListener, AudioSink, AudioSource } from '../../src/audio/audioDevice.js'
import { createKissHub, type HubOptions } from '../../src/kiss/hub.js'
import { tcpStream } from '../../src/kiss/streams.js'
import { startKissTcp } from '../../src/kiss/tcpServer.js'
import { directLine } from '../../src/ptt/keyLine.js'
import { noneOutput } from '../../src/ptt/noneOutput.js'
import { createKissHost } from '../../src/radio/kissHost.js'
import { createKissPort } from '../../src/radio/kissPort.js'
import { createRadioCore } from '../../src/radio/radioCore.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { type Clock, every } from '../../src/runtime/clock.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { eventLog, plainClient } from '../kiss/plainClient.js'
import { clientDefaults, collectedRecord } from './clientRecords.js'
import { audioWith, decode, frame, ownCall, request, transmitDefaults } from './fixtures.js'

const rateHz = 12_000
const blockMs = 50
const open: { close(): unknown }[] = []
afterEach(async () => {
  for (const one of open.splice(0).reverse()) await one.close()
})

/** What is on the air, in blocks at the clock's pace; silence after it. */
function airSource(clock: Clock, air: Float32Array): AudioSource {
  let cancel = (): void => {}
  return {
    name: 'air',
    sampleRateHz: rateHz,
    counters: { samples: 0, overruns: 0, restarts: 0, faults: 0 },
    open(listener: AudioListener) {
      let at = 0
      const length = (rateHz * blockMs) / 1000
      cancel = every(clock, blockMs, () => {
        const block = new Float32Array(length)
        block.set(air.subarray(at, at + length))
        at += length
        listener.onBlock(block)
      })
    },
    close: async () => cancel(),
  }
}

/** Keeps what is played, one transmission behind the other. */
function airSink(clock: Clock): AudioSink & { readonly played: Float32Array[] } {
  const played: Float32Array[] = []
  return {
    name: 'air',
    sampleRateHz: rateHz,
    counters: { samples: 0, underruns: 0, faults: 0 },
    playing: false,
    played,
    prepare: async () => {},
    play(samples) {
      played.push(samples.slice())
      const durationMs = (samples.length * 1000) / rateHz
      return new Promise((resolve) => {
        clock.at(clock.monotonicMs() + durationMs, () => resolve())
      })
    },
    stop: () => {},
    close: async () => {},
  }
}

async function bench(
  change: {
    transmit?: Partial<TransmitOptions>
    hub?: Partial<HubOptions>
    air?: Float32Array
  } = {},
) {
  const clock = virtualClock()
  const sinks = [airSink(clock), airSink(clock)]
  const cores = sinks.map((sink, radio) =>
    createRadioCore({
      radio,
      name: `radio ${radio}`,
      clock,
      random: seededRandom(radio),
      source: airSource(
        clock,
        radio === 1 ? (change.air ?? new Float32Array()) : new Float32Array(),
      ),
      sink,
      line: directLine(noneOutput(), clock),
      receiver: { repair: 'none' },
      transmit: { ...transmitDefaults, ...change.transmit },
      levelDbfs: -6,
      toneBalanceDb: 0,
      keyOverheadMs: 1,
      unkeyMarginMs: 0,
    }),
  )
  let ids = 0
  const events = eventLog()
  const host = createKissHost({
    ports: cores,
    clock,
    nextId: () => `kiss-${++ids}`,
    frameLifeMs: 10_000,
    ...clientDefaults,
    record: collectedRecord().record,
  })
  const hub = createKissHub({
    host,
    receiveOnly: false,
    parametersAllowed: true,
    ...change.hub,
  })
  host.connect(hub)
  const server = await startKissTcp({
    hub,
    address: '127.0.0.1',
    port: 0,
    allow: [],
    clientsMax: 5,
    clientsPerAddressMax: 5,
    bufferOctetsMax: 65_536,
    clock,
    onEvent: events.add,
  })
  for (const core of cores) core.start()
  open.push(server)
  const client = await plainClient(server.port)
  open.push(client)
  await events.next(/connected/)
  /** lets what the client wrote arrive: real I/O, so several turns of the real event loop */
  const arrived = async (count: number): Promise<void> => {
    while (hub.counters.framesIn + hub.counters.receiveOnly + hub.counters.parametersSet < count)
      await new Promise((resolve) => setImmediate(resolve))
  }
  const air = (radio: number): string[] =>
    sinks[radio]!.played.flatMap((samples) => decode(samples, rateHz))
  return { clock, cores, host, hub, server, events, client, arrived, air }
}

describe('a KISS client and two radios', () => {
  it('drives both at once: each frame goes out on its own radio, and it is told when', async () => {
    const { clock, client, arrived, air } = await bench()
    const frames = Array.from({ length: 6 }, (_, index) =>
      frame(ownCall, `>frame ${index}, radio ${index % 2}`),
    )
    frames.forEach((octets, index) => {
      const tag = Buffer.from([index, 0xc0])
      client.send(((index % 2) << 4) | 0x0c, Buffer.concat([tag, octets]))
    })
    await arrived(6)
    await clock.advanceToAsync(5000)
    for (const radio of [0, 1])
      expect(air(radio)).toEqual(
        [radio, radio + 2, radio + 4].map(
          (index) => `${ownCall}>APZ000:>frame ${index}, radio ${radio}`,
        ),
      )
    const replies = (await client.heard(6)).map((reply) => reply.toString('hex')).sort()
    expect(replies).toEqual(['0c00c0', '0c02c0', '0c04c0', '1c01c0', '1c03c0', '1c05c0'])
  })

  it('hears what a radio hears, under its number', async () => {
    const octets = frame('QQ2BB-7', '>from the valley')
    const { clock, client } = await bench({
      air: audioWith(4000, rateHz, [{ atMs: 1000, octets }]),
    })
    await clock.advanceToAsync(5000)
    expect(await client.heard(1)).toEqual([Buffer.concat([Buffer.from([0x10]), octets])])
  })

  it("a client's parameters hold for its radio only", async () => {
    const { client, arrived, cores } = await bench()
    client.send(0x11, Buffer.from([60]))
    client.send(0x12, Buffer.from([127]))
    await arrived(2)
    expect(cores[1]!.access()).toMatchObject({ keyDelayMs: 600, persistence: 127 })
    expect(cores[0]!.access()).toMatchObject({ keyDelayMs: 300, persistence: 255 })
  })

  it('a client that sets P to 0 and SlotTime to 255 keeps nobody from answering', async () => {
    const { client, arrived, cores, clock, air, host, hub } = await bench()
    client.send(0x02, Buffer.from([0]))
    client.send(0x03, Buffer.from([255]))
    await arrived(2)
    const answer = request('answer', frame(ownCall, '>an answer'))
    cores[0]!.send({ ...answer, origin: 'node', notAfterMs: 120_000 })
    await clock.advanceToAsync(60_000)
    expect(air(0)).toEqual([`${ownCall}>APZ000:>an answer`])
    expect(cores[0]!.access()).toMatchObject({ slotTimeMs: 2550 })
    client.close()
    while (hub.clients.length > 0) await new Promise((resolve) => setImmediate(resolve))
    expect(cores[0]!.access()).toMatchObject({ slotTimeMs: 100, persistence: 255 })
    expect(host.counters.refused).toBe(0)
  })

  it('limits hold for clients too: a flood is held by the duty limit, and the queue has an end', async () => {
    const { clock, client, arrived, air, host } = await bench({
      transmit: { dutyLimits: [{ windowMs: 360_000, share: 0.02 }], queueMax: 10 },
    })
    for (let index = 0; index < 60; index++)
      client.send(0x00, frame(ownCall, `>${String(index).padEnd(60, 'x')}`))
    await arrived(60)
    await clock.advanceToAsync(12_000)
    // 2 % of 360 s are 7.2 s, of which an identification's airtime is kept free
    expect(air(0).length).toBeGreaterThan(5)
    expect(air(0).length).toBeLessThan(12)
    const { sent, refused, expired } = host.counters
    expect(sent + refused + expired).toBe(60)
    expect(refused).toBeGreaterThanOrEqual(49)
  })

  it.each([
    ['receive only', { hub: { receiveOnly: true } }],
    ['sending is not enabled', { transmit: { enabled: false } }],
    ['a placeholder call', { transmit: { call: 'N0CALL' } }],
  ])('nothing is keyed: %s', async (_, change) => {
    const { clock, client, arrived, air } = await bench(change)
    client.send(0x00, frame(ownCall, '>never'))
    client.send(0x10, frame(ownCall, '>never'))
    await arrived(2)
    await clock.advanceToAsync(2000)
    expect([...air(0), ...air(1)]).toEqual([])
  })

  it('one node uses another as its modem: port, link, server, controller, air and back', async () => {
    const heardThere = frame('QQ3DD-7', '>from the far valley')
    const { clock, events, server, air } = await bench({
      air: audioWith(3000, rateHz, [{ atMs: 500, octets: heardThere }]),
    })
    const far = createKissPort({
      radio: 7,
      name: 'by modem',
      open: tcpStream('127.0.0.1', server.port),
      modemPort: 1,
      startup: [],
      silentAfterMs: 0,
      transmit: transmitDefaults,
      clock,
      random: seededRandom(9),
    })
    open.push(far)
    const heard: string[] = []
    far.onFrame(({ octets, radio }) =>
      heard.push(`${radio} ${Buffer.from(octets).toString('hex')}`),
    )
    await events.next(/connected/)
    far.send({ ...request('far', frame(ownCall, '>by modem')), origin: 'node' })
    for (let turn = 0; air(1).length === 0 || heard.length === 0; turn++) {
      expect(turn).toBeLessThan(200)
      await clock.advanceToAsync(clock.monotonicMs() + 50)
      await new Promise((resolve) => setImmediate(resolve))
    }
    // until what the far one was given is over by its reckoning as well
    await clock.advanceToAsync(clock.monotonicMs() + 2000)
    expect(air(1)).toEqual([`${ownCall}>APZ000:>by modem`])
    expect(air(0)).toEqual([])
    expect(heard).toEqual([`7 ${Buffer.from(heardThere).toString('hex')}`])
  })

  it("another call's frame is followed by our identification", async () => {
    const { clock, client, arrived, air } = await bench({
      transmit: { identification: { ...transmitDefaults.identification, quietMs: 1000 } },
    })
    client.send(0x00, frame('QQ5CC', '>through your radio'))
    await arrived(1)
    await clock.advanceToAsync(5000)
    expect(air(0)).toEqual(['QQ5CC>APZ000:>through your radio', `${ownCall}>ID:${ownCall}`])
  })
})
