import { wordsOfHeader } from './headers.js'
import { hemispheres, type MeaningOfO } from './hemispheres.js'

/** The hemispheres that the headers name for figures without a sign; only those that turn one round. */
export interface HeaderSides {
  readonly latitude?: 'S'
  /** 'unclear': O, which means east in some languages and west in others */
  readonly longitude?: 'W' | 'unclear'
}

/** 'W-', '(- = west)', 'west negative': the header explains the sign, and the sign tells. */
const signConvention = /neg|minus|moins|menos|\bmeno\b|±|\+|=|[ws]\s*[-−]\s*[)\]]|[([]\s*[-−]/i

/** What a header such as 'Longitude (ouest)' or 'Lat S / Lon W' says of the figures below it. */
export function sidesOfHeader(text: string, o: MeaningOfO): HeaderSides {
  if (signConvention.test(text)) return {}
  const words = wordsOfHeader(text)
    .replace(/\b(west|ost|o?est)(lae?nge)/g, '$1 $2')
    .replace(/\b(sud|sued|nord)(breite)/g, '$1 $2')
    .replace(/\b(west|ost|sud|sued|nord)l(ich\w*)?\b/g, '$1')
    .split(' ')
  const named = new Set(words.map((word) => hemispheres[word]))
  // A small o is 'or' in some languages.
  if (/\bO\b/.test(text)) named.add(o)
  return {
    ...(named.has('S') && !named.has('N') ? { latitude: 'S' } : {}),
    ...(named.has('W') && !named.has('E') && !named.has('unknown') ? { longitude: 'W' } : {}),
    ...(named.has('unknown') && !named.has('E') && !named.has('W') ? { longitude: 'unclear' } : {}),
  }
}

/** How an angle's own words go with the side that its header names. */
export type UnderSide =
  | { readonly kind: 'asItStands' | 'unclear' }
  /** the cell has the other letter */
  | { readonly kind: 'contradicts'; readonly own: string }
  /** neither sign nor letter: the header's side goes for it */
  | { readonly kind: 'turned'; readonly text: string }

/** @param text with letters for hemispheres in place of their words */
export function underSide(text: string, side: 'S' | 'W' | 'unclear' | undefined): UnderSide {
  const bare = text.trim()
  if (side === undefined || bare === '') return { kind: 'asItStands' }
  const own = (/^[NSEW]|[NSEW]$/i.exec(bare)?.[0] ?? '').toUpperCase()
  if (own !== '')
    return own === side || side === 'unclear'
      ? { kind: 'asItStands' }
      : { kind: 'contradicts', own }
  if (/^[-−–]/.test(bare)) return { kind: 'asItStands' }
  if (side === 'unclear') return { kind: 'unclear' }
  return { kind: 'turned', text: `${bare.replace(/^\+\s*/, '')} ${side}` }
}
