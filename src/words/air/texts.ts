import type { english } from './english/all.js'

/** Every text by its name; a translation has the same braces in it as the English one. */
export type TextName = keyof typeof english
export type AirTexts = Readonly<Record<TextName, string>>
/** One file of a translation: what the English file of that name has. */
export type Translated<English> = Readonly<Record<keyof English, string>>

type BracesOf<Text extends string> = Text extends `${string}{${infer Name}}${infer Rest}`
  ? Name | BracesOf<Rest>
  : never

/** What a text is filled with; nothing for a text without braces. */
export type Filling<Name extends TextName> = [BracesOf<(typeof english)[Name]>] extends [never]
  ? []
  : [values: Readonly<Record<BracesOf<(typeof english)[Name]>, string | number>>]

/** As ISO 639 has them: those that the program knows. A club may add its own. */
export const airLanguages = ['en', 'de', 'fr', 'es', 'it'] as const
export type AirLanguage = (typeof airLanguages)[number]
