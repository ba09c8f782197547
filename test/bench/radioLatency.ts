// What a radio adds: from a frame's last sample to its frame event, in audio time (the same on every machine), and from a
// channel that becomes free to the key line, through a real worker thread and a real helper process.
import { mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { createSoundCardRadio } from '../../src/radio/soundCardRadio.js'
import type { RadioSetup } from '../../src/radio/workerMessages.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { compiled, edgesIn, pttDefaults } from '../ptt/helperProcess.js'
import { frame, ownCall, request, transmitDefaults } from '../radio/fixtures.js'
import type { Bench } from './bench.js'

const rateHz = 48_000
const blockMs = 10
const othersEveryMs = 2000

export const bench: Bench = {
  name: 'radio-latency',
  about: "added latency: a frame's last sample to its event, a free channel to the key line",
  async run({ quick }) {
    receiverTable(quick ? 50 : 500)
    await keyTable(quick ? 10 : 100)
  },
}

function receiverTable(frames: number): void {
  console.log("From a frame's last sample (end of its closing flag) to its event, ms of audio:\n")
  console.log('  block     tail    frames   median       max')
  for (const block of [5, 10, 20, 50]) {
    for (const tailMs of [0, 50]) {
      const delays = receiverDelaysMs(block, tailMs, frames).sort((a, b) => a - b)
      console.log(
        `  ${String(block).padStart(2)} ms  ${String(tailMs).padStart(3)} ms ${String(delays.length).padStart(9)} ${atShare(delays, 0.5)} ${atShare(delays, 1)}`,
      )
    }
  }
  console.log('\n  Half a block, on the mean, is the wait for the block to be full.\n')
}

/** Frames at every position within a block. */
function receiverDelaysMs(block: number, tailMs: number, frames: number): number[] {
  const step = (rateHz * block) / 1000
  const delays: number[] = []
  for (let index = 0; index < frames; index++) {
    const offset = Math.round((step * index) / frames)
    const common = { frames: [frame('QQ2AB', `number ${index}`)], preambleMs: 100, peakLevel: 0.5 }
    const audio = modulateTransmission({ ...common, tailMs, sampleRateHz: rateHz })
    const bare = modulateTransmission({ ...common, tailMs: 0, sampleRateHz: rateHz }).length
    const samples = new Float32Array(offset + audio.length + rateHz / 2)
    samples.set(audio, offset)
    const receiver = createReceiver({ sampleRateHz: rateHz, repair: 'careful' })
    for (let at = 0; at < samples.length; at += step) {
      if (receiver.push(samples.subarray(at, at + step)).length === 0) continue
      delays.push(((at + step - offset - bare) * 1000) / rateHz)
      break
    }
  }
  return delays
}

async function keyTable(count: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-bench-'))
  const delays = (await keyDelaysMs(folder, count)).sort((a, b) => a - b)
  rmSync(folder, { recursive: true })
  console.log(
    'From the end of the audio of others to the key line, ms, P = 255 (no draw is lost):\n',
  )
  console.log('   times   median       max')
  console.log(
    `  ${String(delays.length).padStart(6)} ${atShare(delays, 0.5)} ${atShare(delays, 1)}`,
  )
  console.log(`
  Audio through a UNIX socket in blocks of ${blockMs} ms, stamps by the helper that owns the line. The release of carrier
  detect is the larger part: it must not let go in the middle of a weak frame.`)
}

async function keyDelaysMs(folder: string, count: number): Promise<number[]> {
  const clock = systemClock()
  const air = await listen(join(folder, 'air.sock'))
  const sink = await listen(join(folder, 'sink.sock'))
  void sink.connection.then((socket) => socket.resume())
  const logFile = join(folder, 'edges.log')
  const port = createSoundCardRadio({
    setup: setupOf(folder, logFile),
    clock,
    workerFile: compiled('src/radio/worker.js'),
  })
  port.start()
  const socket = await air.connection
  const octets = frame('QQ2AB', 'x'.repeat(40))
  const common = { frames: [octets], preambleMs: 200, tailMs: 20, sampleRateHz: rateHz }
  const others = modulateTransmission({ ...common, peakLevel: 0.5 })
  const gap = new Float32Array((rateHz * othersEveryMs) / 1000 - others.length)
  const endsMs: number[] = []
  await play(socket, new Float32Array(rateHz * 2))
  for (let index = 0; index < count; index++) {
    const half = Math.floor(others.length / 2)
    await play(socket, others.subarray(0, half))
    // It waits for the channel that the others occupy.
    port.send(request(`r${index}`, frame(ownCall, `${index}`), 'answer'))
    endsMs.push(await play(socket, others.subarray(half)))
    await play(socket, gap)
  }
  await port.close()
  await Promise.all([air.close(), sink.close()])
  const keyed = edgesIn(logFile).filter(({ edge }) => edge === 'keyed')
  return endsMs.flatMap((endMs) => {
    const next = keyed.find(({ monotonicMs }) => monotonicMs > endMs)
    return next === undefined || next.monotonicMs > endMs + 1000 ? [] : [next.monotonicMs - endMs]
  })
}

/** Each block when its last sample is due. @returns when the last one was, monotonicMs */
async function play(socket: Socket, samples: Float32Array): Promise<number> {
  const clock = systemClock()
  const octets = encodePcm(samples, 's16le')
  const blockOctets = ((rateHz * blockMs) / 1000) * 2
  const startMs = clock.monotonicMs()
  let sentMs = startMs
  for (let at = 0; at < octets.length; at += blockOctets) {
    sentMs = startMs + (Math.min(at + blockOctets, octets.length) * 500) / rateHz
    await new Promise<void>((resolve) => {
      clock.at(sentMs, resolve)
    })
    socket.write(octets.subarray(at, at + blockOctets))
  }
  return sentMs
}

interface Listening {
  readonly connection: Promise<Socket>
  close(): Promise<void>
}

async function listen(path: string): Promise<Listening> {
  const server = createServer()
  const connection = new Promise<Socket>((resolve) => {
    server.once('connection', (socket: Socket) => {
      socket.on('error', () => {})
      resolve(socket)
    })
  })
  await new Promise<void>((resolve) => server.listen(path, resolve))
  return {
    connection,
    async close() {
      ;(await connection).destroy()
      await new Promise((resolve) => server.close(resolve))
    },
  }
}

const setupOf = (folder: string, logFile: string): RadioSetup => ({
  radio: 0,
  name: 'radio',
  audio: {
    input: `unix:${join(folder, 'air.sock')}`,
    output: `unix:${join(folder, 'sink.sock')}`,
    ...{ channel: 0, channelCount: 1, sampleRateHz: rateHz, sampleFormat: 's16le' },
  },
  receiver: { repair: 'careful' },
  transmit: {
    ...transmitDefaults,
    access: { ...transmitDefaults.access, keyDelayMs: 100 },
    dutyLimits: [],
  },
  levelDbfs: -6,
  toneBalanceDb: 0,
  ptt: { ...pttDefaults, logFile },
  holdFile: '',
  holdInput: { kind: 'none', device: '', activeLow: false, command: [], intervalMs: 500 },
})

const atShare = (sorted: readonly number[], share: number): string =>
  (sorted[Math.floor(share * (sorted.length - 1))] ?? Number.NaN).toFixed(1).padStart(8)
