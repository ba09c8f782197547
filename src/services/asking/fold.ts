const spelled: Readonly<Record<string, string>> = {
  ß: 'ss',
  æ: 'ae',
  œ: 'oe',
  ø: 'o',
  ł: 'l',
  đ: 'd',
}

/** Lower case without accents: 'Météo' is 'meteo', 'Größe' is 'grosse'. */
export function fold(text: string): string {
  const lower = text.toLowerCase()
  // Most of what is sent has no letter of its own to be folded.
  if (!/[^\x20-\x7e]/.test(lower)) return lower
  return lower
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .replace(/[ßæœøłđ]/g, (letter) => spelled[letter]!)
}

const umlauts: Readonly<Record<string, string>> = { ä: 'ae', ö: 'oe', ü: 'ue' }

/** As fold, for who has no umlauts on the keys and spells them: 'nächste' is 'naechste'. */
export const foldSpelled = (text: string): string =>
  fold(
    text
      .normalize('NFC')
      .toLowerCase()
      .replace(/[äöü]/g, (letter) => umlauts[letter]!),
  )
