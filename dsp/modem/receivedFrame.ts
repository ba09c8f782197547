import type { CopyCombiner } from './copies/combine.js'
import type { FrameCode } from './detector.js'
import type { BitRate } from './modulateTransmission.js'

/** How strictly a receiver may mend frames whose check sequence (FCS) fails. */
export type RepairLevel = 'none' | 'careful' | 'eager'

/** What the receiver measured while a frame lasted. */
export interface SignalQuality {
  /** RMS level of the frame's audio; a full-scale sine is -3.01 dBFS */
  readonly levelDbfs: number
  /** level of the space tone (2200 Hz) over the mark tone (1200 Hz), in dB; at 9600 bit/s how much louder 4 kHz comes than 400 Hz */
  readonly toneBalanceDb: number
  /** how far both tones lie above their nominal frequency, in Hz; 0 at 9600 bit/s, which has none */
  readonly toneOffsetHz: number
  /** sender's symbol rate over the nominal one, in parts per million */
  readonly symbolRateErrorPpm: number
  /** energy of a bit over the one-sided noise density of the audio, in dB */
  readonly ebN0Db: number
  /** opening of the decision eye, 0 (closed) to 1 (wide open) */
  readonly eyeOpening: number
  /** share of the frame's samples at the converter's limits, 0 to 1 */
  readonly clippedShare: number
  /** flag octets heard directly before the frame */
  readonly preambleFlags: number
  /** on the air; 1200 unless given */
  readonly bitRate?: BitRate | undefined
}

/** One frame on the air, merged from whichever detectors saw it. */
export interface ReceivedFrame {
  /** address, control, PID and information octets; without flags and FCS */
  readonly octets: Uint8Array
  /** start of the opening flag, counted in input samples since the receiver was made */
  readonly firstSample: number
  /** end of the closing flag, counted in input samples since the receiver was made */
  readonly lastSample: number
  /** the detector whose figures these are */
  readonly detector: string
  /**
   * channel bits that repair changed, the usual swap of two neighbouring ones counted as one;
   * 0 for a frame whose FCS was right as heard
   */
  readonly repairedBits: number
  /** the forward error correction that it came with, and how many octets that corrected; absent for a plain frame */
  readonly code?: FrameCode | undefined
  /** copies on the air that it was made of; more than one when no single one was good enough: it then counts as repaired */
  readonly copies?: number
  readonly quality: SignalQuality
}

/** Everything that did not become a frame, by reason; each only grows. */
export interface ReceiverCounters {
  /** frames handed out */
  frames: number
  /** of those, frames that needed repair */
  repaired: number
  /** segments between flags of plausible length whose FCS was wrong in every detector and beyond repair */
  fcsRejected: number
  /** frames whose FCS was right but whose content no sender can have meant (for example no address) */
  implausible: number
}

export interface ReceiverOptions {
  /** input sample rate, 8000 to 192000 */
  readonly sampleRateHz: number
  readonly repair: RepairLevel
  /** count any signal above the noise as a busy channel, not only a modem signal */
  readonly busyOnAnySignal?: boolean
  /** reads IL2P, too */
  readonly il2p?: boolean
  /** where signals without a frame are kept, when several receivers share it; else the receiver has its own */
  readonly combiner?: CopyCombiner | undefined
}

/** A signal that looked like a frame, whose FCS was wrong in every detector and beyond repair. */
export interface DamagedFrame {
  /** counted in input samples since the receiver was made */
  readonly firstSample: number
  readonly lastSample: number
  /** of a signal at 9600 bit/s, whose receiver measures it by itself */
  readonly at9600?: Pick<SignalQuality, 'levelDbfs' | 'toneBalanceDb'> | undefined
}

/** Audio in, frames out. State lives in the object; nothing is shared between receivers. */
export interface Receiver {
  /**
   * Takes the next block of audio.
   * @param block mono, full scale ±1, at sampleRateHz; any length; not kept
   * @returns frames that became complete, in order of their last sample
   */
  push(block: Float32Array): ReceivedFrame[]
  /** Ends the stream: returns what the tail of the audio still held. */
  finish(): ReceivedFrame[]
  /** The latest damaged frames that were not taken yet; causes/lossWatch.ts says why they are. */
  takeDamaged(): DamagedFrame[]
  /** true while a modem signal (or, by option, any signal) occupies the channel */
  readonly channelBusy: boolean
  readonly counters: Readonly<ReceiverCounters>
}
