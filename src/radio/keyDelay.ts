import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import type { Address } from '../ax25/address.js'
import type { Ax25Frame } from '../ax25/frame.js'
import { uiFrame } from '../ax25/frame.js'

/*
 * Finding the key delay that a transmitter needs. It sends one frame after a known time of flags; whoever hears the frame counts
 * the flags in front of it. What is missing was lost while the transmitter and the other side's receiver came up.
 */

/** A frame that says how long the flags in front of it last. */
export function keyDelayFrame(source: Address, destination: Address, flagsMs: number): Ax25Frame {
  const payload = new TextEncoder().encode(`>after ${flagsMs} ms of flags`)
  return uiFrame({ source, destination, payload })
}

/** Left over for a cold or weak day. */
const marginMs = 60

/**
 * What such a frame tells about its sender's key delay, in words; undefined for any other frame.
 * @param quality of the frame, as it was received
 */
export function keyDelayAdvice(
  payload: Uint8Array,
  quality: Pick<SignalQuality, 'preambleFlags' | 'bitRate'>,
): string | undefined {
  const { preambleFlags, bitRate = 1200 } = quality
  const match = /^>after (\d{1,5}) ms of flags$/.exec(new TextDecoder().decode(payload))
  if (match === null) return undefined
  const sentMs = Number(match[1])
  const heardMs = Math.min(sentMs, Math.round((preambleFlags * 8000) / bitRate))
  const neededMs = Math.ceil((sentMs - heardMs + marginMs) / 10) * 10
  return `${heardMs} ms of them were heard: keyDelayMs = ${neededMs} is enough, with ${marginMs} ms to spare`
}
