import type { Random } from '../../src/runtime/random.js'

/**
 * A UI frame between invented calls with what is sent most: a position, weather, telemetry, words, a compressed position. Digits and
 * words repeat themselves more than octets by chance do.
 */
export function usualFrame(random: Random): Uint8Array {
  const digits = (count: number): string =>
    Array.from({ length: count }, () => Math.floor(random() * 10)).join('')
  const of = <Item>(items: readonly Item[]): Item => items[Math.floor(random() * items.length)]!
  const words = (count: number): string =>
    Array.from({ length: count }, () => of(vocabulary)).join(' ')
  const position = (symbol: string): string =>
    `${digits(4)}.${digits(2)}N/0${digits(4)}.${digits(2)}W${symbol}`
  const contents: readonly (() => string)[] = [
    () => `!${position('-')}${words(4)}`,
    () => `@${digits(6)}z${position('>')}${digits(3)}/${digits(3)}/A=00${digits(4)}`,
    () =>
      `@${digits(6)}z${position('_')}${digits(3)}/${digits(3)}g${digits(3)}t${digits(3)}r000p000P000h${digits(2)}b${digits(5)}`,
    () =>
      `T#${digits(3)},${digits(3)},${digits(3)},${digits(3)},${digits(3)},${digits(3)},00000000`,
    () => `:TE5ST-${1 + Math.floor(random() * 9)}  :${words(9)}{${digits(2)}`,
    () => `>${words(7)} ${'.'.repeat(Math.floor(random() * 8))}`,
    () =>
      `=/${Array.from({ length: 8 }, () => String.fromCharCode(33 + Math.floor(random() * 91))).join('')}>  !${words(3)}`,
  ]
  const address = (call: string, last: number): number[] => [
    ...[...call.padEnd(6)].map((letter) => letter.charCodeAt(0) << 1),
    0x60 | (Math.floor(random() * 16) << 1) | last,
  ]
  const path = of([[], ['WIDE1'], ['WIDE1', 'WIDE2']] as const)
  const calls = ['APZ001', `TE${Math.floor(random() * 10)}ST`, ...path]
  const addresses = calls.flatMap((call, at) => address(call, at === calls.length - 1 ? 1 : 0))
  return Uint8Array.of(...addresses, 0x03, 0xf0, ...Buffer.from(of(contents)(), 'latin1'))
}

const vocabulary = (
  'the net meets on Tuesday at 2000 hours all well here hill battery 12.6 V solar ' +
  'good morning everybody ready to copy 145.500 MHz repeater down digipeater 73 tent back'
).split(' ')
