import { en, type Words } from './en'

export const fr: Words = { ...en, lang: 'fr' }
