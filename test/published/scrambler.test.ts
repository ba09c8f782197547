// The scrambler of 9600 bit/s against fec.json (bits_9600): its polynomial as published (J. Miller, 9600 Baud Packet Radio Modem
// Design, ARRL 7th Computer Networking Conference, 1988), sequences computed from that in two ways by a program of its own.
import { expect, it } from 'vitest'
import { encodeNrzi } from '../../dsp/framing/nrzi.js'
import { createDescrambler, scramble } from '../../dsp/framing/scrambler.js'
import { fec } from './fec.js'

const { impulse, frame_bits, one_wrong_bit_becomes } = fec.bits_9600
const bitsOf = (text: string): Uint8Array => Uint8Array.from(text, Number)
const textOf = (bits: ArrayLike<number>): string => Array.from(bits).join('')
const descrambled = (bits: Uint8Array): number[] => {
  const descrambler = createDescrambler()
  return Array.from(bits, (bit) => descrambler.push(bit))
}

it.each([
  ['impulse', impulse.in, impulse.out],
  ['bits of a frame, behind NRZI', frame_bits.in_after_nrzi, frame_bits.out],
])('%s, both ways', (_, plain, scrambled) => {
  expect(textOf(scramble(bitsOf(plain)))).toBe(scrambled)
  expect(textOf(descrambled(bitsOf(scrambled)))).toBe(plain)
})

it('NRZI of those bits: two flags of preamble, a 0 changes, from a level of 0', () => {
  const flags = bitsOf('0111111001111110')
  expect(textOf(encodeNrzi(flags, 0))).toBe(frame_bits.in_after_nrzi.slice(0, 16))
})

it('a wrong bit becomes three, and after 17 bits all is right again', () => {
  const plain = Uint8Array.from({ length: 200 }, (_, n) => ((n * n * 7) % 3) & 1)
  const scrambled = scramble(plain)
  scrambled[80]! ^= 1
  const wrong = descrambled(scrambled).flatMap((bit, n) => (bit === plain[n] ? [] : [n]))
  expect(wrong).toEqual([80, 92, 97])
  expect(wrong).toHaveLength(one_wrong_bit_becomes)
})

it('inverted levels give inverted bits, which NRZI does not mind', () => {
  const plain = bitsOf(frame_bits.in_after_nrzi)
  const inverted = scramble(plain).map((bit) => bit ^ 1)
  expect(textOf(descrambled(inverted).slice(17))).toBe(
    textOf(plain.slice(17).map((bit) => bit ^ 1)),
  )
})
