import { causeAdvice, causeName, causeText } from '../../dsp/causes/causeWords.js'
import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'

/** What is known of a packet when the input is judged by it. */
export type PacketFigures = Pick<
  SignalQuality,
  'levelDbfs' | 'toneBalanceDb' | 'clippedShare' | 'bitRate'
>

/**
 * Level of packets. Loud enough for 16-bit converters to add no noise, with room for a sender that is louder: common
 * practice, no source. README tells the same figures; a test holds it.
 */
export const goodLevelDbfs = { min: -30, aim: -15, max: -6 }
/** What of all samples may be clipped before tones suffer; from trial with the receiver. */
export const clippedShareMax = 0.002
/** A little less than the 5.3 dB that a missing or doubled de-emphasis makes; see balanceAdvice. */
export const balanceDbMax = 4
/** More than one missing de-emphasis makes: something on the way lifts high tones besides. */
const flatDbMax = 8

/** What to do about the input by packets alone, in the same words; nothing when nothing is wrong. @param packets at least one */
export const adviseOnPackets = (packets: readonly PacketFigures[]): string[] => [
  ...packetClippingAdvice(packets),
  ...packetLevelAdvice(packets),
  ...balanceAdvice(packets),
]

export const turnDown = (clippedShare: number): string =>
  causeText({ kind: 'clipping', share: clippedShare })

function packetClippingAdvice(packets: readonly PacketFigures[]): string[] {
  const clippedShare = mean(packets.map((packet) => packet.clippedShare))
  return clippedShare > clippedShareMax ? [turnDown(clippedShare)] : []
}

export function packetLevelAdvice(frames: readonly PacketFigures[]): string[] {
  const levelDbfs = mean(frames.map((frame) => frame.levelDbfs))
  if (levelDbfs < goodLevelDbfs.min)
    return [
      `turn the input up by about ${(goodLevelDbfs.aim - levelDbfs).toFixed(0)} dB: packets come at ${levelDbfs.toFixed(0)} dBFS`,
    ]
  if (levelDbfs > goodLevelDbfs.max && packetClippingAdvice(frames).length === 0)
    return [
      `turn the input down by about ${(levelDbfs - goodLevelDbfs.aim).toFixed(0)} dB: packets come at ${levelDbfs.toFixed(0)} dBFS, a louder sender would clip`,
    ]
  return []
}

/**
 * A sender and a receiver that both follow the voice convention of 6 dB an octave cancel; one alone makes
 * 20 log10(2200 / 1200) = 5.3 dB.
 */
export function balanceAdvice(frames: readonly PacketFigures[]): string[] {
  if (frames.length === 0) return []
  const balanceDb = mean(frames.map((frame) => frame.toneBalanceDb))
  const from = frames.length === 1 ? 'of the packet heard' : `of ${frames.length} packets heard`
  if (frames.at(-1)!.bitRate === 9600) return slopeAdvice(balanceDb, from)
  if (balanceDb < -balanceDbMax)
    return [
      `${causeName({ kind: '2200 Hz low', db: -balanceDb })}, the mean ${from}: ${causeAdvice('2200 Hz low')}`,
    ]
  if (balanceDb > flatDbMax)
    return [
      `${causeName({ kind: '2200 Hz high', db: balanceDb })}, the mean ${from}: ${causeAdvice('2200 Hz high')}`,
    ]
  return []
}

/** More is lost at 4 kHz against 400 Hz only where something rolls it off: flat audio as received had below 1 dB. */
const slopeDbMax = 4

/** At 9600 bit/s, where the balance is that of the two ends of the band. */
function slopeAdvice(slopeDb: number, from: string): string[] {
  if (Math.abs(slopeDb) <= slopeDbMax) return []
  const size = Math.abs(slopeDb).toFixed(0)
  return [
    slopeDb < 0
      ? `4 kHz comes ${size} dB weaker than 400 Hz, the mean ${from}: 9600 bit/s need the flat port of the radio (discriminator, 9600), not the speaker or its output for 1200`
      : `4 kHz comes ${size} dB stronger than 400 Hz, the mean ${from}: switch off what lifts high tones on the way (equaliser, noise filter of the card); the sender may have pre-emphasis, which 9600 bit/s do not want`,
  ]
}

export const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length
