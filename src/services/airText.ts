// The reference keeps these three out of message text: | and ~ for telemetry, { for the message number.
const reserved: Readonly<Record<string, string>> = { '|': '/', '~': '-', '{': '(', '}': ')' }

// Letters and signs that do not come apart into a plain letter and a mark.
const spelled: Readonly<Record<string, string>> = {
  ß: 'ss',
  ẞ: 'SS',
  æ: 'ae',
  Æ: 'AE',
  œ: 'oe',
  Œ: 'OE',
  ø: 'o',
  Ø: 'O',
  đ: 'd',
  Đ: 'D',
  ð: 'd',
  Ð: 'D',
  þ: 'th',
  Þ: 'Th',
  ł: 'l',
  Ł: 'L',
  ı: 'i',
  '°': ' deg',
  µ: 'u',
  '‘': "'",
  '’': "'",
  '“': '"',
  '”': '"',
  '–': '-',
  '—': '-',
  '−': '-',
  '…': '...',
  '€': 'EUR',
}

/**
 * Any text as a message can carry it: printable ASCII without the characters that the format reserves.
 * Marks are dropped from letters, known signs are spelled, what is left over becomes '?'; white space becomes one blank.
 */
export function airText(text: string): string {
  let air = ''
  for (const character of text.replace(/\s+/g, ' ').normalize('NFC')) {
    air += reserved[character] ?? spelled[character] ?? plain(character)
  }
  return air.replace(/ {2,}/g, ' ').trim()
}

/**
 * What a person wrote, as a message can carry it: in its own characters. Only what the format reserves is replaced by what
 * looks like it, and control characters and the ends of lines and paragraphs by blanks.
 */
export function keptText(text: string): string {
  return text
    .replace(/[\0-\x1f\x7f\u2028\u2029]/g, ' ')
    .replace(/[|~{}]/g, (character) => reserved[character]!)
    .trim()
}

function plain(character: string): string {
  if (/^[ -~]$/.test(character)) return character
  const bare = character.normalize('NFKD').replace(/\p{M}/gu, '')
  if (bare === '') return ''
  return /^[ -~]+$/.test(bare) ? bare.replace(/[|~{}]/g, '?') : '?'
}
