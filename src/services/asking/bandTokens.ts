import { parseBand } from '../repeaters/bands.js'
import type { Token } from './tokens.js'
import type { Vocabulary } from './vocabulary.js'

/**
 * Names of bands in one word each, as the services know them: '2 m', 'due metri', '70-centimetre' and '2m-Relais' have '2m' and '70cm' in
 * them. What together names no band stays as it came.
 */
export function withBands(tokens: readonly Token[], vocabulary: Vocabulary): readonly Token[] {
  const parts = tokens.flatMap((token) => apart(token, vocabulary))
  const joined: Token[] = []
  for (let at = 0; at < parts.length; at++) {
    const band = bandAt(parts, at, vocabulary)
    joined.push(band?.token ?? parts[at]!)
    if (band !== undefined) at += band.length - 1
  }
  return joined
}

const glued = /^(\d{1,2})-?([a-z]{1,12})(?:-([a-z]+))?$/

/** '2-metre' and '70cm-repeater' come apart where they begin with a band. */
function apart(token: Token, { bandParts }: Vocabulary): readonly Token[] {
  const [, number = '', unit = '', rest] = glued.exec(token.folded) ?? []
  const name = `${number}${unitOf(unit, bandParts)}`
  if (number === '' || name === token.folded || parseBand(name) === undefined) return [token]
  const band = { raw: name, folded: name, end: token.end }
  return rest === undefined ? [band] : [band, { raw: rest, folded: rest, end: token.end }]
}

function bandAt(
  tokens: readonly Token[],
  at: number,
  { bandParts, arguments: known }: Vocabulary,
): { readonly token: Token; readonly length: number } | undefined {
  // 'Soixante-dix' is two words.
  for (const length of [2, 1]) {
    const words = tokens.slice(at, at + length).map(({ folded }) => folded)
    const unit = tokens[at + length]
    if (words.length < length || unit === undefined) continue
    const written = words.join(' ')
    const number = /^\d{1,2}$/.test(written)
      ? written
      : (bandParts.get(written) ?? known.get(written))
    if (number === undefined || !/^\d+$/.test(number)) continue
    const name = `${number}${unitOf(unit.folded, bandParts)}`
    if (!/m$/.test(name) || parseBand(name) === undefined) continue
    return { token: { raw: name, folded: name, end: unit.end }, length: length + 1 }
  }
  return undefined
}

const unitOf = (word: string, bandParts: Vocabulary['bandParts']): string =>
  bandParts.get(word) ?? word
