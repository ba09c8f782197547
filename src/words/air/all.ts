import { english } from './english.js'
import { french } from './french.js'
import { german } from './german.js'
import { italian } from './italian.js'
import { spanish } from './spanish.js'
import type { AirLanguage, AirTexts } from './texts.js'

const texts: Readonly<Record<AirLanguage, AirTexts>> = {
  ...{ en: english, de: german, fr: french, es: spanish, it: italian },
}

/** English where no language is given. */
export const airTextsOf = (language: AirLanguage = 'en'): AirTexts => texts[language]
