import type { Random } from '../../src/runtime/random.js'

/**
 * A UI frame between invented calls, filled up with random printable octets.
 * @param octetCount whole frame without FCS; at least 16
 */
export function randomFrame(octetCount: number, random: Random): Uint8Array {
  const pick = (letters: string): number =>
    letters.charCodeAt(Math.floor(random() * letters.length))
  const call = (prefix: string): number[] =>
    [...prefix].map((letter) => letter.charCodeAt(0) << 1).concat(pick('ABCDEFGHKLMNPQRSTUVW') << 1)
  const payload = Array.from({ length: octetCount - 16 }, () => 32 + Math.floor(random() * 95))
  const [destinationSsid, sourceSsid] = [0xe0, 0x61 | (Math.floor(random() * 16) << 1)]
  const frame = [...call('APZ00'), destinationSsid, ...call('TE5ST'), sourceSsid, 0x03, 0xf0]
  return Uint8Array.of(...frame, ...payload)
}
