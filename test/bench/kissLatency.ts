// How long after a frame's last sample its KISS octets are at a client: real worker thread, receiver, hub and TCP.
import { createServer, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { openKissEnds } from '../../src/kiss/ends.js'
import { createKissHost } from '../../src/radio/kissHost.js'
import { createSoundCardRadio } from '../../src/radio/soundCardRadio.js'
import type { RadioSetup } from '../../src/radio/workerMessages.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { plainClient } from '../kiss/plainClient.js'
import { compiled } from '../ptt/helperProcess.js'
import { clientDefaults, collectedRecord } from '../radio/clientRecords.js'
import type { Bench } from './bench.js'

const rateHz = 48_000
const frameCount = { quick: 20, full: 400 }
const preambleMs = 100
const tailMs = 50
/** between two transmissions: nothing of the next is in the block of the last */
const pauseMs = 300

export const bench: Bench = {
  name: 'kiss-latency',
  about: "added latency from a frame's last sample to its KISS octets at a TCP client",
  async run({ quick }) {
    const path = join(tmpdir(), `ridgepost-latency-${process.pid}.sock`)
    console.log('Audio comes in real time through a UNIX socket; 48,000 samples a second, 16 bit.')
    console.log(
      'Latency: arrival at the client less the moment at which the last sample was sent.\n',
    )
    console.log('  block    frames   median      95 %       max   (ms)')
    for (const blockMs of quick ? [10, 20, 50] : [5, 10, 20, 50]) {
      const latenciesMs = await measure(path, blockMs, quick ? frameCount.quick : frameCount.full)
      const at = (share: number): string =>
        (latenciesMs[Math.floor(share * (latenciesMs.length - 1))] ?? Number.NaN).toFixed(1)
      console.log(
        `  ${String(blockMs).padStart(2)} ms ${String(latenciesMs.length).padStart(9)}${at(0.5).padStart(9)}${at(0.95).padStart(10)}${at(1).padStart(10)}`,
      )
    }
    console.log(`
  A block is sent when its last sample is due, as a sound card does: half a block, on the mean, is that.
  The receiver itself hands a frame out ${receiverDelayMs().toFixed(1)} ms of audio after its last sample (its filters, and the
  wait for the slowest detector). The rest is computing, thread, TCP, and what else the machine does.`)
  },
}

/** How much audio after the last sample the receiver wants before it hands the frame out, ms. */
function receiverDelayMs(): number {
  const { samples, lastSamples } = air(1)
  const receiver = createReceiver({ sampleRateHz: rateHz, repair: 'careful' })
  const step = rateHz / 1000
  for (let at = 0; at < samples.length; at += step)
    if (receiver.push(samples.subarray(at, at + step)).length > 0)
      return ((at + step - lastSamples[0]!) * 1000) / rateHz
  return Number.NaN
}

/** @returns sorted latencies, ms */
async function measure(path: string, blockMs: number, frames: number): Promise<number[]> {
  const clock = systemClock()
  const { samples, lastSamples } = air(frames)
  const server = createServer()
  await new Promise<void>((resolve) => server.listen(path, resolve))
  const connected = new Promise<Socket>((resolve) =>
    server.once('connection', (socket) => {
      // The radio, when it closes, may leave audio unread: a reset, which ends nothing here.
      socket.on('error', () => socket.destroy())
      resolve(socket)
    }),
  )
  const port = createSoundCardRadio({
    setup: setupOf(path),
    clock,
    workerFile: compiled('src/radio/worker.js'),
  })
  const host = createKissHost({
    ports: [port],
    clock,
    nextId: () => '',
    frameLifeMs: 1000,
    ...clientDefaults,
    record: collectedRecord().record,
  })
  const ends = await openKissEnds({
    host,
    clock,
    receiveOnly: true,
    parametersAllowed: false,
    tcp: {
      address: '127.0.0.1',
      port: 0,
      allow: [],
      clientsMax: 1,
      clientsPerAddressMax: 1,
      bufferOctetsMax: 65_536,
    },
    serial: [],
    pseudoTerminals: [],
    onEvent: () => {},
  })
  host.connect(ends.hub)
  const client = await plainClient(ends.tcp!.port)
  const arrivedMs: number[] = []
  let seen = 0
  client.socket.on('data', () => {
    for (; seen < client.frames.length; seen++) {
      const index = Number(client.frames[seen]!.subarray(-4).toString('latin1'))
      arrivedMs[index] = clock.monotonicMs()
    }
  })
  port.start()
  const startMs = await play(await connected, samples, blockMs)
  client.close()
  await Promise.all([ends.close(), port.close()])
  await new Promise((resolve) => server.close(resolve))
  return lastSamples
    .map((sample, index) => (arrivedMs[index] ?? Number.NaN) - startMs - (sample * 1000) / rateHz)
    .filter((latencyMs) => !Number.isNaN(latencyMs))
    .sort((a, b) => a - b)
}

/** Transmissions of one frame each, and where the last sample of each frame lies: the end of its closing flag. */
function air(frames: number): { samples: Float32Array; lastSamples: number[] } {
  const pause = new Float32Array((rateHz * pauseMs) / 1000)
  const parts: Float32Array[] = [new Float32Array(rateHz)]
  const lastSamples: number[] = []
  let length = rateHz
  for (let index = 0; index < frames; index++) {
    const octets = encodeFrame(
      uiFrame({
        source: { call: 'N0CALL', ssid: 1 },
        destination: { call: 'APZ000', ssid: 0 },
        payload: Buffer.from(`>latency ${String(index).padStart(4, '0')}`),
      }),
    )
    const options = { frames: [octets], preambleMs, sampleRateHz: rateHz, peakLevel: 0.5 }
    const audio = modulateTransmission({ ...options, tailMs })
    const tailSamples = audio.length - modulateTransmission({ ...options, tailMs: 0 }).length
    lastSamples.push(length + audio.length - tailSamples)
    parts.push(audio, pause)
    length += audio.length + pause.length
  }
  const samples = new Float32Array(length + rateHz)
  let at = 0
  for (const part of parts) {
    samples.set(part, at)
    at += part.length
  }
  return { samples, lastSamples }
}

/** Writes each block when its last sample is due. @returns when the first sample was due, monotonicMs */
async function play(socket: Socket, samples: Float32Array, blockMs: number): Promise<number> {
  const clock = systemClock()
  const blockSamples = (rateHz * blockMs) / 1000
  const octets = encodePcm(samples, 's16le')
  const startMs = clock.monotonicMs()
  for (let block = 1; block * blockSamples <= samples.length; block++) {
    await new Promise<void>((resolve) => {
      clock.at(startMs + block * blockMs, resolve)
    })
    socket.write(octets.subarray((block - 1) * blockSamples * 2, block * blockSamples * 2))
  }
  socket.end()
  return startMs
}

const setupOf = (path: string): RadioSetup => ({
  radio: 0,
  name: 'radio',
  audio: {
    input: `unix:${path}`,
    channel: 0,
    channelCount: 1,
    sampleRateHz: rateHz,
    sampleFormat: 's16le',
  },
  receiver: { repair: 'careful' },
  transmit: {
    enabled: false,
    call: 'N0CALL',
    access: { keyDelayMs: 300, tailMs: 50, slotTimeMs: 100, persistence: 63, fullDuplex: false },
    timeOutMs: 8000,
    dutyLimits: [],
    identification: { intervalMs: 540_000, quietMs: 20_000, destination: 'ID' },
    queueMax: 1,
  },
  levelDbfs: -6,
  toneBalanceDb: 0,
  ptt: {
    kind: 'none',
    device: '',
    activeLow: false,
    keyCommand: [],
    unkeyCommand: [],
    logFile: '',
    deadManMs: 150,
  },
  holdFile: '',
  holdInput: { kind: 'none', device: '', activeLow: false, command: [], intervalMs: 500 },
})
