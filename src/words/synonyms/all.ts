import { english } from './english.js'
import { french } from './french.js'
import { german } from './german.js'
import { italian } from './italian.js'
import type { LanguageSynonyms } from './language.js'
import { spanish } from './spanish.js'

/** Where two languages give a word different meanings, the first of them wins. */
export const languages: readonly LanguageSynonyms[] = [english, german, french, spanish, italian]
