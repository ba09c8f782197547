import type { Failure } from '../runtime/failure.js'

/** What an audio source did since it was made; each only grows. */
export interface AudioSourceCounters {
  /** samples (of the chosen channel) handed to the listener */
  samples: number
  /** times that the device or the pipe lost audio because it was read too late */
  overruns: number
  /** times that the device, process or connection was opened anew after a fault */
  restarts: number
  /** faults of any kind, also those whose text was the same as the one before and was not told again */
  faults: number
}

export interface AudioListener {
  /** mono, full scale ±1, at the source's rate; valid during the call */
  onBlock(block: Float32Array): void
  /**
   * Something went wrong. A live source goes on trying by itself (see its file for the back-off); a fault that repeats
   * unchanged is told once and counted after that.
   */
  onFault(failure: Failure): void
  /** the audio has ended for good: the end of a file or of standard input; never after close() */
  onEnd(): void
}

/** Where audio comes from. Made closed; `open` once, `close` once. */
export interface AudioSource {
  /** what it is, for messages: 'alsa:plughw:1,0' */
  readonly name: string
  readonly sampleRateHz: number
  readonly counters: Readonly<AudioSourceCounters>
  /** Starts the flow; blocks never come from within this call. */
  open(listener: AudioListener): void
  /**
   * From now on audio may come in pieces of about so many milliseconds, which costs less; 0, as at the beginning: as soon as
   * it is there, and at once what is there already. Optional: a source may have one length only.
   */
  gather?(ms: number): void
  /** Lets go of device, process or file; no block comes after the call. */
  close(): Promise<void>
}

export interface AudioSinkCounters {
  /** samples (of the chosen channel) that were played to the end */
  samples: number
  /** times that the device ran dry in the middle of a transmission */
  underruns: number
  /** transmissions that a fault of the device ended */
  faults: number
}

/** Where audio goes. Between two plays it is silent. */
export interface AudioSink {
  readonly name: string
  readonly sampleRateHz: number
  readonly counters: Readonly<AudioSinkCounters>
  /** true from play() until it settles */
  readonly playing: boolean
  /**
   * Makes the device ready, so that the next play() starts within milliseconds. Optional: a sink prepares itself when it
   * is made and after each play; await it once at the start to learn of a missing device before the first transmission.
   * @throws Failure (as a rejection) when the device cannot be opened
   */
  prepare(): Promise<void>
  /**
   * Plays one transmission. One at a time: a second call before the first settled throws RangeError.
   * @param samples mono, full scale ±1, at sampleRateHz; read during the call only
   * @returns settles when the last sample has left, and at once after stop(); rejects with a Failure when the device
   *   fails. It never settles well before the samples' own duration is over, even on a device without a clock of its own.
   */
  play(samples: Float32Array): Promise<void>
  /** Silence at once; what was not yet played is thrown away. Harmless when nothing plays. */
  stop(): void
  /** stop(), then lets go of the device. */
  close(): Promise<void>
}

/** Raw PCM on pipes, sockets and devices: signedness, bits, byte order. */
export const sampleFormats = ['u8', 's16le', 's16be', 's24le', 's32le', 'f32le', 'f64le'] as const
export type SampleFormat = (typeof sampleFormats)[number]

/** How audio lies in a stream of bytes. */
export interface PcmLayout {
  readonly sampleRateHz: number
  readonly sampleFormat: SampleFormat
  /** channels in the stream, interleaved */
  readonly channelCount: number
}
