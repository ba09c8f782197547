import { parseDecimal } from '../data/figures.js'
import type { AccessTone } from './entry.js'

/** What a cell about the tone says. */
export type ToneSaid =
  | { readonly kind: 'none' }
  | { readonly kind: 'access'; readonly tone: AccessTone; readonly doubt?: string }
  /** not a tone that a radio can be set to: why, in words */
  | { readonly kind: 'unclear'; readonly why: string }

/** Tones of radios (TIA-603, from memory), in Hz. */
const standardTonesHz = [
  67, 69.3, 71.9, 74.4, 77, 79.7, 82.5, 85.4, 88.5, 91.5, 94.8, 97.4, 100, 103.5, 107.2, 110.9,
  114.8, 118.8, 123, 127.3, 131.8, 136.5, 141.3, 146.2, 150, 151.4, 156.7, 159.8, 162.2, 165.5,
  167.9, 171.3, 173.8, 177.3, 179.9, 183.5, 186.2, 189.9, 192.8, 196.6, 199.5, 203.5, 206.5, 210.7,
  213.8, 218.1, 221.3, 225.7, 229.1, 233.6, 237.1, 241.8, 245.5, 250.3, 254.1,
]

/** No directory means a tone outside of these by a continuous one (common practice, no source). */
const toneMinHz = 60
const toneMaxHz = 260
const burstHz = 1750

const noTone =
  /^(none|no( ?tone)?|off|0|0[.,]0+|-+|—|csq|carrier( ?squelch)?|cs|n\/a|na|open|keine?r?|ohne|nein|aucune?|sans|non|nada|ninguno|sin( tono)?|nessuno|senza|geen|träger|traeger|porteuse|portadora|portante|null|nil|\?)$/i
/** A time slot behind the code is no part of the access. */
const digital =
  /^(cc|colou?r ?code|color|farbcode|ran|nac|dg-?id|dgid)\s*[:=]?\s*([0-9a-f]{1,3})(?:[\s,;/]+(?:ts|slot|tg)\s*[\d/+ ]*)?$/i
const code =
  /^(?:(-|\+)?\s*(?:dcs|dpl|dtcs|d)\s*[-:]?\s*([0-7]{3})\s*(?:[-(/]?\s*([nirp]|inv\w*|norm\w*|\+|-)\)?)?|([0-7]{3})\s*(?:([nirp])|dpl|dcs))$/i
const figure =
  /^(?:t|pl|ctcss|tone|ton|tono|tsq|tsql|tpl|te|sub|subton|zugangston|access|acces)?\s*[:=]?\s*(\d+(?:[.,]\d+)?)\s*(?:hz|t|tone|ctcss|pl|tsql?|tpl)?$/i

/** A cell of a tone column: '88,5', '100.0 Hz', 'D023N', 'Burst', 'CC1', 'none', '1750/88.5'. */
export function parseTone(text: string): ToneSaid {
  const bare = text.replace(/[−–]/g, '-').trim()
  if (bare === '' || noTone.test(bare)) return { kind: 'none' }
  const whole = parseOne(bare)
  if (whole.kind !== 'unclear') return whole
  if (/^0[0-7]{2}$/.test(bare)) return parseOne(`D${bare}`)
  const parts = bare
    .split(
      /\s*(?:[/;|,+&]|\bor\b|\boder\b|\bou\b|\bo\b|\band\b|\bund\b)\s+|\s*[/;|+&]\s*|\s+(?:or|oder|ou|o|and|und)\s+/i,
    )
    .filter((part) => part.trim() !== '')
  if (parts.length < 2) return whole
  const read = parts.map((part) => (noTone.test(part) ? { kind: 'none' as const } : parseOne(part)))
  if (read.some((one) => one.kind === 'unclear')) return whole
  const tones = read.flatMap((one) => (one.kind === 'access' ? [one.tone] : []))
  const lasting = tones.filter((tone) => tone.kind === 'tone' || tone.kind === 'code')
  const different = new Set(lasting.map((tone) => JSON.stringify(tone)))
  if (different.size > 1) return { kind: 'unclear', why: 'which of the two opens it is not said' }
  const tone = lasting[0] ?? tones[0]
  return tone === undefined ? { kind: 'none' } : { kind: 'access', tone }
}

function parseOne(bare: string): ToneSaid {
  if (/burst|rufton|tonruf/i.test(bare) && !/\d/.test(bare.replace(/1750(?:[.,]0+)?/, '')))
    return { kind: 'access', tone: { kind: 'burst' } }
  const said = digital.exec(bare)
  if (said)
    return {
      kind: 'access',
      tone: {
        kind: 'digital',
        text: `${said[1]!
          .toUpperCase()
          .replace(/[^A-Z]/g, '')
          .replace(/^(COLOU?R(CODE)?|FARBCODE)$/, 'CC')}${said[2]!.trim()}`,
      },
    }
  const dcs = code.exec(bare)
  if (dcs) {
    const polarity = (dcs[3] ?? dcs[5] ?? '').toLowerCase()
    const inverted = dcs[1] === '-' || /^(i|r|-|inv)/.test(polarity)
    return {
      kind: 'access',
      tone: { kind: 'code', code: (dcs[2] ?? dcs[4])!, ...(inverted ? { inverted } : {}) },
    }
  }
  const found = figure.exec(bare)
  if (found) return toneOf(parseDecimal(found[1]!)!)
  const marked = /^(\d+(?:[.,]\d+)?)\s*(?:hz)?\s+\(?([a-z]{1,4})\)?$/i.exec(bare)
  if (marked) {
    const tone = toneOf(parseDecimal(marked[1]!)!)
    return tone.kind === 'access' && tone.doubt === undefined
      ? { ...tone, doubt: `"${marked[2]}" was not understood` }
      : tone
  }
  return { kind: 'unclear', why: 'this is not a tone' }
}

/** A figure as a tone. */
function toneOf(toneHz: number): ToneSaid {
  if (toneHz === burstHz) return { kind: 'access', tone: { kind: 'burst' } }
  if (!(toneHz >= toneMinHz && toneHz <= toneMaxHz))
    return { kind: 'unclear', why: `tones are ${toneMinHz} to ${toneMaxHz} Hz` }
  const tone = { kind: 'tone', toneHz } as const
  const nearest = standardTonesHz.find((one) => Math.abs(one - toneHz) < 0.05)
  return nearest === undefined
    ? { kind: 'access', tone, doubt: 'radios have no such tone' }
    : { kind: 'access', tone }
}
