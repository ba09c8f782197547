// What the tests of the receiver share: frames with invented calls, and a receiver run over a whole signal.
import { whiteNoise } from '../../../dsp/channel/noise.js'
import type { ReceivedFrame, Receiver, ReceiverOptions } from '../../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../../dsp/modem/receiver.js'
import type { Random } from '../../../src/runtime/random.js'

/** A UI frame from TE5ST-n to APZ001 with that many random printable octets. */
export function testFrame(payloadOctets: number, random: Random): Uint8Array {
  const address = (call: string, ssid: number, last: boolean): number[] => [
    ...[...call.padEnd(6)].map((letter) => letter.charCodeAt(0) << 1),
    0x60 | (ssid << 1) | (last ? 1 : 0),
  ]
  const payload = Array.from({ length: payloadOctets }, () => 32 + Math.floor(random() * 95))
  return Uint8Array.of(
    ...address('APZ001', 0, false),
    ...address('TE5ST', Math.floor(random() * 16), true),
    0x03,
    0xf0,
    ...payload,
  )
}

/** Everything that a receiver makes of the audio, given in blocks of `blockSamples`. */
export function receiveAll(
  audio: Float32Array,
  options: ReceiverOptions,
  blockSamples = 960,
): { frames: ReceivedFrame[]; receiver: Receiver } {
  const receiver = createReceiver(options)
  const frames: ReceivedFrame[] = []
  for (let at = 0; at < audio.length; at += blockSamples)
    frames.push(...receiver.push(audio.subarray(at, at + blockSamples)))
  frames.push(...receiver.finish())
  return { frames, receiver }
}

/** Signals one after the other, with quiet noise before, between and after them. */
export function withGaps(
  parts: readonly Float32Array[],
  gapSamples: number,
  noiseRms: number,
  random: Random,
): Float32Array {
  const length = parts.reduce((sum, part) => sum + part.length + gapSamples, gapSamples)
  const audio = whiteNoise(length, noiseRms, random)
  let at = gapSamples
  for (const part of parts) {
    part.forEach((sample, index) => {
      audio[at + index]! += sample
    })
    at += part.length + gapSamples
  }
  return audio
}

export const hex = (octets: Uint8Array): string => Buffer.from(octets).toString('hex')
