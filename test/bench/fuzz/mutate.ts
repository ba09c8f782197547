import type { Random } from '../../../src/runtime/random.js'

const octetsMax = 4096
const odd = [0, 1, 0x0a, 0x0d, 0x20, 0x7f, 0x80, 0xc0, 0xdb, 0xff]

const pick = <Item>(items: readonly Item[], random: Random): Item =>
  items[Math.floor(random() * items.length)]!

/**
 * Changes an input in one to eight places, as fuzzers do: octets flipped, put in, taken out, repeated; words of the format; a part
 * of another input; figures at their limits.
 * @param from octets before it stay as they are
 */
export function mutate(
  input: Uint8Array,
  {
    random,
    words,
    other,
    from = 0,
  }: {
    readonly random: Random
    readonly words: readonly string[]
    readonly other: Uint8Array
    readonly from?: number
  },
): Uint8Array {
  let octets = Buffer.from(input)
  const times = 1 + Math.floor(8 * random() ** 2)
  for (let time = 0; time < times; time++) {
    const at = from + Math.floor(random() * (octets.length - from + 1))
    const splice = (removed: number, added: Uint8Array): void => {
      octets = Buffer.concat([octets.subarray(0, at), added, octets.subarray(at + removed)])
    }
    const length = Math.floor(random() * 8)
    switch (Math.floor(random() * 9)) {
      case 0:
        if (at < octets.length) octets[at]! ^= 1 << Math.floor(random() * 8)
        break
      case 1:
        splice(1, Buffer.from([pick(odd, random)]))
        break
      case 2:
        splice(0, Buffer.from([Math.floor(random() * 256)]))
        break
      case 3:
        splice(length, new Uint8Array())
        break
      case 4:
        splice(0, Buffer.from(pick(words, random), 'latin1'))
        break
      case 5:
        splice(length, Buffer.from(pick(words, random), 'latin1'))
        break
      case 6: {
        const begin = Math.floor(random() * other.length)
        splice(length, other.subarray(begin, begin + Math.floor(random() * 40)))
        break
      }
      case 7:
        splice(
          0,
          Buffer.concat(
            Array.from({ length: 1 + length * length }, () => octets.subarray(at, at + 4)),
          ),
        )
        break
      default:
        splice(length, Buffer.from(pick(figures, random), 'latin1'))
    }
  }
  return octets.subarray(0, octetsMax)
}

const figures = [
  '0',
  '-1',
  '99999',
  '1e309',
  '-0',
  '2147483648',
  '4294967296',
  'NaN',
  '0.0000001',
  '1e21',
]
