import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'

/** In this order, with so many decimals: finer than any of them is measured. */
const figures: readonly (readonly [Exclude<keyof SignalQuality, 'bitRate'>, number])[] = [
  ['levelDbfs', 1],
  ['toneBalanceDb', 1],
  ['toneOffsetHz', 0],
  ['symbolRateErrorPpm', 0],
  ['ebN0Db', 1],
  ['eyeOpening', 2],
  ['clippedShare', 3],
  ['preambleFlags', 0],
]

export const packQuality = (quality: SignalQuality): (number | null)[] => [
  ...figures.map(([name, decimals]) => rounded(quality[name], decimals)),
  // Behind them, so that the list of most frames is no longer than it was.
  ...(quality.bitRate === 9600 ? [9600] : []),
]

/** @returns undefined for what is no such list, or holds what is no measurement */
export function unpackQuality(list: unknown): SignalQuality | undefined {
  if (!Array.isArray(list)) return undefined
  const isAt9600 = list.length === figures.length + 1 && list.at(-1) === 9600
  if (list.length !== figures.length && !isAt9600) return undefined
  if (!list.every((value) => typeof value === 'number')) return undefined
  const measured = Object.fromEntries(
    figures.map(([name], index) => [name, list[index]]),
  ) as unknown as SignalQuality
  return isAt9600 ? { ...measured, bitRate: 9600 } : measured
}

/** JSON has no word for what is not finite: that is no measurement, and comes back as none. */
export function rounded(value: number, decimals: number): number | null {
  if (!Number.isFinite(value)) return null
  const scale = 10 ** decimals
  // without a negative zero, which JSON does not keep
  return Math.round(value * scale) / scale + 0
}
