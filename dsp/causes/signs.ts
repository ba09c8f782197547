// What the audio of a lost frame shows, in figures. They are measured in measureSigns.ts; the causes (causes.ts) are read off them.
import type { Gap, LowTones, SampleRange } from './audioSigns.js'
import type { Burst } from './burstSigns.js'
import type { Comb } from './combSign.js'
import type { EchoSearch } from './echoSign.js'
import type { FlagRhythm } from './flagRhythm.js'
import type { LineJump } from './lineJump.js'
import type { Piece } from './pieceFits.js'
import type { TimingLine } from './symbolView.js'

/** A stretch of audio that looked like a frame, 80 ms or more, with what was around it; every sample finite. */
export interface LostStretch {
  /** as it came, mono, full scale ±1 */
  readonly audio: Float32Array
  readonly sampleRateHz: number
  /** samples of `audio` at which the stretch begins and ends */
  readonly firstSample: number
  readonly lastSample: number
}

export interface Signs extends MeasuredSigns {
  /** where a second signal is heard, whatever else is wrong; and the signs of what stands before that, where it is enough */
  readonly second: SampleRange | undefined
  readonly before: StretchSigns | undefined
  /** where hum or a sub-audible tone jumps, most likely; undefined where there is neither */
  readonly lineJump: LineJump | undefined
}

/** All but what the audio shows as it came. */
export type StretchSigns = Omit<
  MeasuredSigns,
  'levelDbfs' | 'clippedShare' | 'rawClicks' | 'clipped' | 'gaps'
>

export interface MeasuredSigns {
  /** of the stretch as it came, noise included */
  readonly levelDbfs: number
  /** power at 2200 Hz over that at 1200 Hz */
  readonly toneBalanceDb: number
  readonly toneOffsetHz: number
  readonly symbolRateErrorPpm: number
  /** median over its pieces */
  readonly ebN0Db: number
  /** by the quietest quarter of the spectrum beside and between the tones */
  readonly floorEbN0Db: number
  /** by the noise between clicks */
  readonly betweenEbN0Db: number
  readonly clippedShare: number
  /** mean power of the signal, full scale 1 */
  readonly signalPower: number
  readonly low: LowTones
  /** share of what the fit leaves that stands in harmonics of twice 50 and 60 Hz, 0 to 1 */
  readonly buzz: readonly { readonly hz: number; readonly share: number }[]
  readonly echo: EchoSearch
  readonly comb: Comb
  readonly bursts: readonly Burst[]
  /** samples of the stretch as it came that are far higher than the others; in working samples of its audio, as in what follows */
  readonly rawClicks: readonly SampleRange[]
  /** samples at the converter's limits */
  readonly clipped: readonly SampleRange[]
  /** the stretch */
  readonly fromSample: number
  readonly toSample: number
  readonly gaps: readonly Gap[]
  readonly pieces: readonly Piece[]
  /** pieces of the stretch: first, and behind the last */
  readonly firstPiece: number
  readonly endPiece: number
  /** flags in a row about its start, the most there are, and flags directly behind it */
  readonly flagsBefore: number
  readonly flagsBehind: number
  readonly rhythm: FlagRhythm
  readonly line: TimingLine
}

/** Of what the fit leaves: noise has nothing there, harmonics of 50 Hz give those of 60 a sixth. */
export const buzzShareMin = 0.3

/** Runs of samples that noise does not have even where it begins to click. */
export const rawClicksMin = 8
/** A millisecond: what is louder than all else for so long is a crash. */
export const rawCrashSamples = 12
