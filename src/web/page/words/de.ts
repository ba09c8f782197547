import { en, type Words } from './en'

export const de: Words = { ...en, lang: 'de' }
