import { english } from './english/all.js'
import { french } from './french/all.js'
import { german } from './german/all.js'
import { italian } from './italian/all.js'
import { spanish } from './spanish/all.js'
import type { AirLanguage, AirTexts } from './texts.js'
import { createWording, type Wording } from './wording.js'

const texts: Readonly<Record<AirLanguage, AirTexts>> = {
  ...{ en: english, de: german, fr: french, es: spanish, it: italian },
}

/** What can be said, by language. */
export interface Wordings {
  /** English where no language is given, or none that is known */
  of(language: string | undefined): Wording
  readonly all: readonly Wording[]
}

/** A language of the club: a new one, or better words for one that is known. */
export interface OwnTexts {
  readonly language: string
  readonly texts: Partial<AirTexts>
}

export function createWordings(own?: OwnTexts): Wordings {
  const known = new Map<string, Wording>()
  for (const [language, its] of Object.entries(texts))
    known.set(language, createWording(language, its))
  if (own !== undefined) {
    const base = (texts as Partial<Record<string, AirTexts>>)[own.language]
    known.set(own.language, createWording(own.language, { ...base, ...own.texts }))
  }
  return {
    of: (language) => known.get(language ?? 'en') ?? known.get('en')!,
    all: [...known.values()],
  }
}

/** The languages that the program knows. */
export const standardWordings = createWordings()
/** For what is shown to the operator, and kept in logs. */
export const inEnglish = standardWordings.of('en')
