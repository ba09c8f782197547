import { constants, openSync } from 'node:fs'
import { type AddressInfo, createServer, type Server, Socket } from 'node:net'
import { modulateTransmission } from '../../../dsp/modem/modulateTransmission.js'
import { encodePcm } from '../../../src/audio/rawPcm.js'
import { encodeFrame } from '../../../src/ax25/frame.js'
import { parseLine } from '../../../src/ax25/line.js'
import type { Random } from '../../../src/runtime/random.js'
import { traffic } from '../store/traffic.js'

export const airRateHz = 48_000
const blockMs = 20
const blockSamples = (airRateHz * blockMs) / 1000
const noiseLevel = 0.004

/** A channel with many stations, as audio at a sound card's pace. */
export interface BusyAir {
  /** into a FIFO that a real arecord reads */
  toFifo(path: string): void
  /** TCP: whoever connects hears it; what comes back is thrown away, and counted */
  listen(): Promise<number>
  readonly counters: { frames: number; questions: number; lateBlocks: number; playedOctets: number }
  close(): void
}

const questions = [
  ...['help', 'heard', 'sun', 'clock', 'signal', 'board', 'collect', 'where Q1BAA', 'pass'],
  ...['conditions', 'repeaters 2', 'leave Q0AAA-1 back by nine', 'nonsense', 'find water'],
]

/**
 * @param meanMs between the beginnings of two transmissions, in audio
 * @param pace how many seconds of audio are given in a second
 */
export function busyAir(
  call: string,
  { meanMs, pace }: { readonly meanMs: number; readonly pace: number },
  random: Random,
): BusyAir {
  const heard = traffic(60, random)
  /** what a reader that has stopped may leave lying: a second */
  const backlogOctetsMax = airRateHz * 2 * pace
  const counters = { frames: 0, questions: 0, lateBlocks: 0, playedOctets: 0 }
  const outputs: { write(block: Buffer): void }[] = []
  const sockets = new Set<Socket>()
  const servers: Server[] = []
  const fifos: Socket[] = []
  const noise = Float32Array.from({ length: airRateHz }, () => noiseLevel * (2 * random() - 1))
  let transmission: Float32Array = new Float32Array(0)
  let at = 0
  let nextAtSample = airRateHz
  let sample = 0

  const nextLine = (): string => {
    counters.frames++
    if (random() >= 1 / 50) return heard().line
    const number = ++counters.questions
    const text = questions[Math.floor(random() * questions.length)]!
    return `Q9ASK-${number % 16}>APZ001::${call.padEnd(9)}:${text}{${number % 10_000}`
  }

  const begin = (): void => {
    const parsed = parseLine(nextLine())
    if (!parsed.ok) throw new Error(parsed.reason)
    transmission = modulateTransmission({
      frames: [encodeFrame(parsed.frame)],
      ...{ preambleMs: 150 + 150 * random(), tailMs: 20, sampleRateHz: airRateHz },
      peakLevel: 0.1 + 0.4 * random(),
    })
    at = 0
    const untilNext = Math.round((-Math.log(1 - random()) * meanMs * airRateHz) / 1000)
    nextAtSample = sample + Math.max(untilNext, transmission.length + airRateHz / 10)
  }

  const nextBlock = (): Buffer => {
    if (sample >= nextAtSample) begin()
    const block = new Float32Array(blockSamples)
    for (let index = 0; index < blockSamples; index++)
      block[index] = noise[(sample + index) % noise.length]! + (transmission[at + index] ?? 0)
    at += blockSamples
    sample += blockSamples
    return Buffer.from(encodePcm(block, 's16le'))
  }

  const startMs = performance.now()
  let blocks = 0
  const timer = setInterval(() => {
    const due = Math.floor(((performance.now() - startMs) * pace) / blockMs)
    for (; blocks < due; blocks++) {
      const block = nextBlock()
      for (const output of outputs) output.write(block)
    }
  }, blockMs)

  return {
    counters,
    toFifo(path) {
      // for both: so it neither waits for a reader nor ends without one; a write that blocked would outlive the run
      const fd = openSync(path, constants.O_RDWR | constants.O_NONBLOCK)
      const stream = new Socket({ fd, readable: false, writable: true })
      stream.on('error', () => {})
      fifos.push(stream)
      outputs.push({
        write(block) {
          if (stream.writableLength > backlogOctetsMax) counters.lateBlocks++
          else stream.write(block)
        },
      })
    },
    async listen() {
      const server = createServer((socket) => {
        sockets.add(socket)
        socket.on('error', () => {}).once('close', () => sockets.delete(socket))
        socket.on('data', (octets) => {
          counters.playedOctets += octets.length
        })
      })
      servers.push(server)
      outputs.push({
        write(block) {
          for (const socket of sockets)
            if (socket.writableLength > backlogOctetsMax) counters.lateBlocks++
            else socket.write(block)
        },
      })
      await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
      return (server.address() as AddressInfo).port
    },
    close() {
      clearInterval(timer)
      for (const socket of [...sockets, ...fifos]) socket.destroy()
      for (const server of servers) server.close()
    },
  }
}
