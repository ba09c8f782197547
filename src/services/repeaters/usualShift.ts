import { bandOf } from '../../regulations/amateurBands.js'

/**
 * Where the outputs of repeaters usually lie, and which side their inputs are (common practice, no source; from memory of
 * the band plans of the three regions). Parts where both sides are in use are left out.
 */
const usual: readonly (readonly [fromMHz: number, toMHz: number, sign: -1 | 1])[] = [
  [29.61, 29.69, -1],
  [145.1, 145.5, -1],
  [145.5625, 145.8, -1],
  [146.61, 146.995, -1],
  [147, 147.395, 1],
  [438.0, 439.99, -1],
  [442, 444.99, 1],
  [447, 450, -1],
]

/**
 * The side on which a repeater's input is usually found: the one that keeps it within the band, or the one that its part of the
 * band has. undefined where both may be.
 */
export function usualSign(outputMHz: number, shiftMHz: number): -1 | 1 | undefined {
  const band = bandOf(outputMHz)
  if (band === undefined) return undefined
  const below = outputMHz - shiftMHz >= band.fromMHz
  const above = outputMHz + shiftMHz <= band.toMHz
  if (below !== above) return below ? -1 : 1
  return below ? signOfPart(outputMHz) : undefined
}

/** The side that a part of the band has for its inputs; undefined where both are in use. */
export const signOfPart = (outputMHz: number): -1 | 1 | undefined =>
  usual.find(([from, to]) => outputMHz >= from && outputMHz <= to)?.[2]
