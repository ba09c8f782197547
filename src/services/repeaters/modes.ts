/** Modes by their names in directories, in the order in which they are told. */
const modeNames = [
  [
    'FM',
    /^(n?fm|w?fm|analog(ue|ic|ico|ique|a|o)?|fm[- ]?n(arrow)?|voice|phonie|fonia|f3e|16k0f3e|11k2f3e|8k5f3e|11k0f3e|nbfm)$/,
  ],
  ['DMR', /^(dmr|mototrbo|tier ?(2|ii)|mmdvm)$/],
  ['D-STAR', /^(d-?star|dv|dstar)$/],
  ['C4FM', /^(c4fm|ysf|fusion|system ?fusion|wires-?x)$/],
  ['NXDN', /^(nxdn|idas|nexedge)$/],
  ['P25', /^(p-?25|apco|apco-?25)$/],
  ['TETRA', /^tetra$/],
  ['M17', /^m17$/],
  ['ATV', /^d?atv$/],
  ['AM', /^am$/],
  ['SSB', /^(ssb|usb|lsb)$/],
] as const
export type FlaggedMode = (typeof modeNames)[number][0]

/** The mode that a column of its own stands for, by its header in words; undefined for another header. */
export function modeOfHeader(words: string): FlaggedMode | undefined {
  const bare = words.replace(
    /^(has|is|mode) | (capable|mode|available|enabled|ja nein|yes no)$/g,
    '',
  )
  return bare === 'am' || bare === 'voice' ? undefined : knownMode(bare)
}

/** @param word in lower case */
export const knownMode = (word: string): FlaggedMode | undefined =>
  modeNames.find(([, pattern]) => pattern.test(word))?.[0]

/**
 * The modes that a cell names: 'FM + DMR', 'Analog/D-Star', 'FM-DMR'. What is not known stays as it was written, in capitals.
 */
export function readModes(text: string): string[] {
  const modes: string[] = []
  const whole = text.trim().toLowerCase()
  const parts =
    knownMode(whole) === undefined
      ? whole.split(/\s*(?:[,;/+&|]|\band\b|\bund\b|\bet\b|\by\b|\be\b)\s*/)
      : [whole]
  for (const part of parts) {
    if (part === '') continue
    const known =
      knownMode(part.replace(/\b(digital|numerique|mode)\b/g, '').trim()) ?? knownMode(part)
    const dashed = known === undefined ? part.split(/[- ]/).map(knownMode) : []
    if (dashed.length > 1 && dashed.every((mode) => mode !== undefined)) modes.push(...dashed)
    else modes.push(known ?? part.toUpperCase())
  }
  return [...new Set(modes)]
}

/** Modes as one text, the known ones in their order; 'FM' for none. */
export function joinModes(modes: readonly string[]): string {
  const order = (mode: string): number => {
    const at = modeNames.findIndex(([name]) => name === mode)
    return at < 0 ? modeNames.length : at
  }
  const sorted = [...new Set(modes)].sort((a, b) => order(a) - order(b))
  return sorted.length === 0 ? 'FM' : sorted.join('/')
}

/** What a cell below a yes-or-no header says; undefined for neither. */
export function parseYesNo(text: string): boolean | undefined {
  const word = text.trim().toLowerCase()
  if (/^(y|yes|ja|j|oui|si|sì|sí|sim|x|1|true|wahr|vrai|on|✓|✔)$/.test(word)) return true
  return /^(|n|no|nein|non|nee|não|0|false|falsch|faux|off|-)$/.test(word) ? false : undefined
}
