// Code and timing of Recommendation ITU-R M.1677-1, International Morse code: letters, figures and the main signs from a
// public table; timing of its section 2 (a dash is three dots, one dot between signals, three between letters, seven
// between words).

/** A segment of key down or key up. */
export interface MorseElement {
  readonly on: boolean
  /** length in dots */
  readonly units: number
}

/**
 * @param text letters of any case, figures, `. , ? / - = +` and spaces
 * @returns key-down segments with gaps between them, none before or after; undefined when a character has no code
 */
export function morseElements(text: string): MorseElement[] | undefined {
  const elements: MorseElement[] = []
  for (const word of text.trim().toUpperCase().split(/\s+/)) {
    if (word === '') continue
    if (elements.length > 0) elements.push({ on: false, units: wordGapUnits })
    let first = true
    for (const character of word) {
      const code = codes[character]
      if (code === undefined) return undefined
      if (!first) elements.push({ on: false, units: letterGapUnits })
      first = false
      pushSignals(elements, code)
    }
  }
  return elements
}

/** Characters of the text that have no code, each once. */
export function charactersWithoutMorse(text: string): string[] {
  const unknown = [...text.toUpperCase()].filter(
    (character) => codes[character] === undefined && !/\s/.test(character),
  )
  return [...new Set(unknown)]
}

/** Length of a dot: PARIS with the gap after it is 50 dots, and so many of it go out in a minute. */
export function dotMs(wordsPerMinute: number): number {
  return 1200 / wordsPerMinute
}

/** Silence between two words. */
export const wordGapMs = (wordsPerMinute: number): number => wordGapUnits * dotMs(wordsPerMinute)

/** Length of a text in dots. */
export const morseUnits = (elements: readonly MorseElement[]): number =>
  elements.reduce((sum, element) => sum + element.units, 0)

const dashUnits = 3
const letterGapUnits = 3
const wordGapUnits = 7

function pushSignals(elements: MorseElement[], code: string): void {
  ;[...code].forEach((signal, index) => {
    if (index > 0) elements.push({ on: false, units: 1 })
    elements.push({ on: true, units: signal === '-' ? dashUnits : 1 })
  })
}

const codes: Readonly<Record<string, string | undefined>> = {
  A: '.-',
  B: '-...',
  C: '-.-.',
  D: '-..',
  E: '.',
  F: '..-.',
  G: '--.',
  H: '....',
  I: '..',
  J: '.---',
  K: '-.-',
  L: '.-..',
  M: '--',
  N: '-.',
  O: '---',
  P: '.--.',
  Q: '--.-',
  R: '.-.',
  S: '...',
  T: '-',
  U: '..-',
  V: '...-',
  W: '.--',
  X: '-..-',
  Y: '-.--',
  Z: '--..',
  1: '.----',
  2: '..---',
  3: '...--',
  4: '....-',
  5: '.....',
  6: '-....',
  7: '--...',
  8: '---..',
  9: '----.',
  0: '-----',
  '.': '.-.-.-',
  ',': '--..--',
  '?': '..--..',
  '/': '-..-.',
  '-': '-....-',
  '=': '-...-',
  '+': '.-.-.',
}
