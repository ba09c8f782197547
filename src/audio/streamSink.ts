/*
 * Raw PCM to transmitters that are programs. A stream cannot take back what was written, so play() writes in step with
 * the clock, a tenth of a second ahead: stop() is heard after that at the latest.
 */

import type { Socket } from 'node:net'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import type { AudioSink, AudioSinkCounters, PcmLayout } from './audioDevice.js'
import { durationMs, refuseSecondPlay, type Wait, waitUntil } from './playOut.js'
import { encodePcm } from './rawPcm.js'

/** Where the octets go: one connection. */
export interface OctetStream {
  write(octets: Uint8Array, done: (error?: Error | null) => void): unknown
  /** Lets go at once; what was not yet handed on is thrown away. */
  destroy(): void
}

export interface StreamSinkOptions extends PcmLayout {
  readonly name: string
  readonly channel: number
  readonly clock: Clock
  /**
   * Opens the stream; called for the first transmission, and anew after a fault.
   * @throws Failure (as a rejection)
   */
  connect(onLost: () => void): Promise<OctetStream>
}

const aheadMs = 100
const pieceMs = 20

export function createStreamSink(options: StreamSinkOptions): AudioSink {
  const { name, clock, sampleRateHz, sampleFormat, channel, channelCount } = options
  const counters: AudioSinkCounters = { samples: 0, underruns: 0, faults: 0 }
  const line = streamConnection(options)
  let run: Run | undefined

  const playOn = async (samples: Float32Array, thisRun: Run): Promise<void> => {
    const stream = await line.open()
    const startedMs = clock.monotonicMs()
    const pieceSamples = Math.max(1, Math.round((sampleRateHz * pieceMs) / 1000))
    for (let from = 0; from < samples.length && !thisRun.isStopped; from += pieceSamples) {
      const dueMs = startedMs + durationMs(from, sampleRateHz) - aheadMs
      if (dueMs > clock.monotonicMs()) {
        thisRun.wait = waitUntil(clock, dueMs)
        await thisRun.wait.over
        if (thisRun.isStopped) return
      }
      const piece = samples.subarray(from, from + pieceSamples)
      thisRun.isWriting = true
      await write(name, stream, encodePcm(piece, sampleFormat, channel, channelCount))
      thisRun.isWriting = false
    }
    if (thisRun.isStopped) return
    thisRun.wait = waitUntil(clock, startedMs + durationMs(samples.length, sampleRateHz))
    await thisRun.wait.over
  }

  return {
    name,
    sampleRateHz,
    counters,
    get playing() {
      return run !== undefined
    },
    async prepare() {
      await line.open()
    },
    async play(samples) {
      refuseSecondPlay(name, run !== undefined)
      const thisRun = newRun()
      run = thisRun
      try {
        // A copy: the rest of it is read after the call.
        await Promise.race([playOn(samples.slice(), thisRun), thisRun.stopped])
        if (!thisRun.isStopped) counters.samples += samples.length
      } catch (error) {
        counters.faults++
        void line.drop()
        throw error
      } finally {
        run = undefined
      }
    },
    stop() {
      // A reader that hangs would find stale audio when it goes on.
      if (run?.isWriting === true) void line.drop()
      run?.stop()
    },
    async close() {
      this.stop()
      await line.drop()
    },
  }
}

/** The one connection of a sink, opened when it is needed. */
interface StreamConnection {
  open(): Promise<OctetStream>
  /** Lets go of it; settles when that is done. */
  drop(): Promise<void>
}

function streamConnection({ name, connect }: StreamSinkOptions): StreamConnection {
  let connection: Promise<OctetStream> | undefined
  return {
    open() {
      if (connection !== undefined) return connection
      const forget = (): void => {
        if (connection === opening) connection = undefined
      }
      const opening = connect(forget).catch((error: unknown) => {
        throw error instanceof Failure ? error : streamFailure(name, errorText(error), error)
      })
      connection = opening
      opening.catch(forget)
      return opening
    },
    async drop() {
      const dropped = connection
      connection = undefined
      const stream = await dropped?.catch(() => undefined)
      stream?.destroy()
    },
  }
}

/** One transmission under way. */
interface Run {
  isStopped: boolean
  isWriting: boolean
  wait: Wait | undefined
  readonly stopped: Promise<void>
  stop(): void
}

function newRun(): Run {
  let settle = (): void => {}
  const stopped = new Promise<void>((resolve) => {
    settle = resolve
  })
  return {
    isStopped: false,
    isWriting: false,
    wait: undefined,
    stopped,
    stop() {
      this.isStopped = true
      this.wait?.cut()
      settle()
    },
  }
}

function write(name: string, stream: OctetStream, octets: Uint8Array): Promise<void> {
  return new Promise((resolve, reject) => {
    stream.write(octets, (error) => (error ? reject(lostFailure(name, error)) : resolve()))
  })
}

/** A socket as a stream for the sink; `isOpen` for one that does not have to connect first. */
export function socketStream(
  name: string,
  socket: Socket,
  isOpen: boolean,
  onLost: () => void,
): Promise<OctetStream> {
  return new Promise((resolve, reject) => {
    const stream: OctetStream = {
      write: (octets, done) => socket.write(octets, done),
      destroy: () => socket.destroy(),
    }
    if (isOpen) resolve(stream)
    else socket.once('connect', () => resolve(stream))
    socket.on('error', (cause) => reject(lostFailure(name, cause)))
    socket.once('close', onLost)
    // What the other side says is of no interest, but its end must be noticed.
    if (socket.readable) socket.resume()
  })
}

const lostFailure = (name: string, cause: Error): Failure =>
  streamFailure(name, errorText(cause), cause)

/** Nobody takes the audio. */
export const streamFailure = (subject: string, got: string, cause: unknown): Failure =>
  new Failure({
    code: 'audio-stream',
    subject,
    got,
    expected: 'a program that reads raw PCM there',
    cause,
  })
