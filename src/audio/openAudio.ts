import { closeSync, constants, createWriteStream, fstatSync, openSync } from 'node:fs'
import { createConnection, Socket } from 'node:net'
import type { Readable } from 'node:stream'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { createAlsaSink } from './alsaSink.js'
import { createAlsaSource } from './alsaSource.js'
import { type SpawnChild, spawnTied } from './audioChild.js'
import type { AudioSink, AudioSource, PcmLayout } from './audioDevice.js'
import { type AudioSpec, parseAudioSpec } from './audioSpec.js'
import { createLiveSource, type Feed, type FeedEvents } from './liveSource.js'
import { fifoFeed, openStandardInput, standardInputFeed, tcpFeed, unixFeed } from './streamFeeds.js'
import { createStreamSink, type OctetStream, socketStream, streamFailure } from './streamSink.js'
import { channelFailure, createWavSink, createWavSource } from './wavDevices.js'
import { checkSampleRate } from './wavHeader.js'

/** How the audio lies in the stream or is asked of the device; a WAV file to read says it itself. */
export interface AudioOptions extends PcmLayout {
  /** which of the channels is the radio's; 0 is the first, left one */
  readonly channel: number
  readonly clock: Clock
  /** what child processes see; the process's own by default */
  readonly env?: NodeJS.ProcessEnv
  /** how arecord and aplay are started; really, by default */
  readonly spawn?: SpawnChild
  /** what 'pcm:-' reads; the process's standard input by default */
  readonly stdin?: Readable
}

/**
 * Opens what audio comes from. Nothing flows before open(); a live device that is missing is told then, and waited for.
 * Works in a worker thread.
 * @param spec 'wav:FILE', 'pcm:-', 'alsa:DEVICE', 'unix:PATH', 'tcp:HOST:PORT' or 'fifo:PATH'
 * @throws Failure 'audio-spec', 'audio-channel', 'wav-rate', 'audio-stream', or those of openWav
 */
export function openAudioSource(spec: string, options: AudioOptions): AudioSource {
  const parsed = parseAudioSpec(spec)
  if (parsed.kind === 'wav') return createWavSource({ ...options, file: parsed.path })
  checkLayout(spec, options)
  if (parsed.kind === 'alsa')
    return createAlsaSource({ ...options, device: parsed.device, spawn: spawnOf(options) })
  // Opened here, not at open(): a terminal on standard input is wrong usage and is told at once.
  const stdin = parsed.kind === 'pcm' ? (options.stdin ?? openStandardInput()) : undefined
  return createLiveSource({
    ...options,
    name: spec,
    connect: (events) => connectFeed(parsed, stdin, options.clock, events),
  })
}

/**
 * Opens where audio goes; see AudioSink.prepare for how to learn of a missing device before the first transmission.
 * @param spec as for openAudioSource; 'wav:FILE' is written anew, 'pcm:-' is standard output
 * @throws Failure 'audio-spec', 'audio-channel', 'wav-rate' or 'audio-unwritable'
 */
export function openAudioSink(spec: string, options: AudioOptions): AudioSink {
  const parsed = parseAudioSpec(spec)
  checkLayout(spec, options)
  if (parsed.kind === 'wav') return createWavSink({ ...options, file: parsed.path })
  if (parsed.kind === 'alsa')
    return createAlsaSink({ ...options, device: parsed.device, spawn: spawnOf(options) })
  return createStreamSink({
    ...options,
    name: spec,
    connect: async (onLost) => connectStream(spec, parsed, onLost),
  })
}

type StreamSpec = Exclude<AudioSpec, { kind: 'wav' | 'alsa' }>

const spawnOf = (options: AudioOptions): SpawnChild =>
  options.spawn ?? spawnTied(options.env ?? process.env)

function checkLayout(spec: string, options: AudioOptions): void {
  checkSampleRate(options.sampleRateHz, spec)
  if (!(options.channel >= 0 && options.channel < options.channelCount))
    throw channelFailure(spec, options.channel, options.channelCount)
}

function connectFeed(
  spec: StreamSpec,
  stdin: Readable | undefined,
  clock: Clock,
  events: FeedEvents,
): Feed {
  switch (spec.kind) {
    case 'pcm':
      return standardInputFeed(stdin!, clock, events)
    case 'fifo':
      return fifoFeed(spec.path, clock, events)
    case 'unix':
      return unixFeed(spec.path, clock, events)
    case 'tcp':
      return tcpFeed(spec.host, spec.port, clock, events)
  }
}

function connectStream(
  name: string,
  spec: StreamSpec,
  onLost: () => void,
): OctetStream | Promise<OctetStream> {
  switch (spec.kind) {
    case 'pcm':
      return standardOutput(name, onLost)
    case 'fifo':
      return socketStream(name, openFifo(name, spec.path), true, onLost)
    case 'unix':
      return socketStream(name, createConnection({ path: spec.path }), false, onLost)
    case 'tcp':
      return socketStream(name, createConnection(spec), false, onLost)
  }
}

function standardOutput(name: string, onLost: () => void): OctetStream | Promise<OctetStream> {
  const stat = fstatSync(1)
  if (stat.isFile()) {
    const stream = createWriteStream('', { fd: 1, autoClose: false })
    // The file is the shell's, and other output may follow.
    return { write: (octets, done) => stream.write(octets, done), destroy: () => {} }
  }
  return socketStream(name, new Socket({ fd: 1, readable: false, writable: true }), true, onLost)
}

/** Without a reader this fails at once instead of waiting for one with the transmitter keyed. */
function openFifo(name: string, path: string): Socket {
  let descriptor: number
  try {
    descriptor = openSync(path, constants.O_WRONLY | constants.O_NONBLOCK)
  } catch (cause) {
    const nobody = (cause as NodeJS.ErrnoException).code === 'ENXIO'
    throw streamFailure(name, nobody ? 'a FIFO that nobody reads' : errorText(cause), cause)
  }
  if (fstatSync(descriptor).isFIFO())
    return new Socket({ fd: descriptor, readable: false, writable: true })
  closeSync(descriptor)
  throw new Failure({
    code: 'audio-stream',
    subject: name,
    got: 'a file that is not a FIFO',
    expected: 'a FIFO',
    advice: 'mkfifo makes one; write wav: for a WAV file',
  })
}
