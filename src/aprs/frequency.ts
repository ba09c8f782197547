import type { FrequencyReport } from './types.js'
import { kmPerMile } from './units.js'

/*
 * The frequency specification (ch. 18, addenda 1.1 and 1.2): `FFF.FFFMHz`, then a tone field, an
 * offset field and a range field, at the start of a comment. The decimals of tones that the text
 * prints beside its examples differ from the standard tones; the standard ones count here.
 */

/** CTCSS tones by their whole hertz as sent (EIA/TIA-603 tones, from memory). */
const ctcssTonesHz = [
  67.0, 69.3, 71.9, 74.4, 77.0, 79.7, 82.5, 85.4, 88.5, 91.5, 94.8, 97.4, 100.0, 103.5, 107.2,
  110.9, 114.8, 118.8, 123.0, 127.3, 131.8, 136.5, 141.3, 146.2, 151.4, 156.7, 159.8, 162.2, 165.5,
  167.9, 171.3, 173.8, 177.3, 179.9, 183.5, 186.2, 189.9, 192.8, 196.6, 199.5, 203.5, 206.5, 210.7,
  218.1, 225.7, 229.1, 233.6, 241.8, 250.3, 254.1,
]

/** Hundreds of MHz that a letter stands for where three digits do not suffice. */
const letterMhz: Readonly<Record<string, number>> = {
  A: 1200,
  B: 2300,
  C: 2400,
  D: 3400,
  E: 5600,
  F: 5700,
  G: 5800,
  H: 10100,
  I: 10200,
  J: 10300,
  K: 10400,
  L: 10500,
  M: 24000,
  N: 24100,
  O: 24200,
}

export interface FoundFrequency {
  readonly frequency: FrequencyReport
  readonly rest: string
}

/**
 * Reads the fields at the start of a comment.
 * @param objectName an object's name may itself give the frequency, as in `146.94-ab`; then the
 *   fields stand alone
 */
export function findFrequency(comment: string, objectName?: string): FoundFrequency | undefined {
  const named = objectName === undefined ? undefined : parseObjectFrequency(objectName)
  const head = /^([A-O]\d\d|\d{3})\.(\d{2}[\d ]) ?MHz/i.exec(comment)
  if (head === null && named === undefined) return undefined
  const frequencyMhz = head === null ? named! : readMhz(head[1]!, head[2]!.trim())
  const fields = findFields(head === null ? comment : comment.slice(head[0].length))
  if (head === null && fields.rest === comment)
    return { frequency: { frequencyMhz }, rest: comment }
  return { frequency: { frequencyMhz, ...fields.found }, rest: fields.rest.trim() }
}

/** Reads the tone, offset and range fields alone, in any order, from the start of a text. */
export function findFields(text: string): { found: FrequencyReport; rest: string } {
  let found: FrequencyReport = {}
  let rest = text
  for (;;) {
    const parts = /^\s*(Toff|[TtCc1Dd]\d{3}|[+-]\d{3}|R\d\d[mk])(?=\s|$)/i.exec(rest)
    if (parts === null) return { found, rest }
    const field = readField(parts[1]!)
    if (field === undefined) return { found, rest }
    found = { ...found, ...field }
    rest = rest.slice(parts[0].length)
  }
}

function readField(field: string): FrequencyReport | undefined {
  if (/^toff$/i.test(field)) return { tone: { toneKind: 'off' } }
  const number = Number(field.slice(1).replace(/[mk]$/i, ''))
  if (/^[+-]/.test(field)) {
    // Units of 10 kHz; -000 and +000 force simplex.
    const offsetMhz = number / 100
    return { offsetMhz: field.startsWith('-') && offsetMhz !== 0 ? -offsetMhz : offsetMhz }
  }
  if (/^R/i.test(field)) return { rangeKm: /m$/i.test(field) ? number * kmPerMile : number }
  const narrow = /^[tcd]/.test(field) ? { narrow: true as const } : {}
  const kind = field[0]!.toUpperCase()
  if (kind === 'D') return { tone: { toneKind: 'dcs', dcsCode: field.slice(1) }, ...narrow }
  if (kind === '1')
    return number === 750 ? { tone: { toneKind: 'burst', toneHz: 1750 } } : undefined
  const toneHz = ctcssTonesHz.find((tone) => Math.floor(tone) === number) ?? number
  return { tone: { toneKind: kind === 'C' ? 'ctcss' : 'tone', toneHz }, ...narrow }
}

function parseObjectFrequency(name: string): number | undefined {
  const parts = /^([A-O]\d\d|\d{3})\.(\d{2,3})(?!\d)/.exec(name)
  return parts === null ? undefined : readMhz(parts[1]!, parts[2]!)
}

function readMhz(whole: string, decimals: string): number {
  const base = letterMhz[whole[0]!.toUpperCase()]
  const text = `${base === undefined ? whole : whole.slice(1)}.${decimals}`
  // Through the decimal text: 1200 + 96.1 would leave binary dust.
  return Number((Number(text) + (base ?? 0)).toFixed(3))
}
