import { english } from './english/all.js'
import type { AirTexts, Filling, TextName } from './texts.js'

/** One language's way to say things. */
export interface Wording {
  /** as ISO 639 has it */
  readonly language: string
  /** A text with its braces filled. Numbers are written with the language's decimal sign, texts go in as they are. */
  say<Name extends TextName>(name: Name, ...filling: Filling<Name>): string
  /** A text without knowing what its braces are; undefined for a name that there is not. */
  find(name: string): string | undefined
  /** Figures with the language's decimal sign: '146.94' to '146,94'. */
  decimal(figures: number | string): string
  /** One of a text that is a list: a month, a day of the week, a compass point. */
  listed(name: 'months' | 'weekdays' | 'compass', at: number): string
}

const brace = /\{(\w+)\}/g

/** @param texts what is missing is said in English */
export function createWording(language: string, texts: Partial<AirTexts>): Wording {
  const all: AirTexts = { ...english, ...texts }
  const lists = new Map<string, readonly string[]>()
  const decimal = (figures: number | string): string =>
    all.decimalSign === '.' ? String(figures) : String(figures).replace('.', all.decimalSign)
  return {
    language,
    say(name, ...filling) {
      const [values = {}] = filling as [Readonly<Record<string, string | number>>?]
      return all[name].replace(brace, (_, key: string) => {
        const value = values[key] ?? ''
        return typeof value === 'number' ? decimal(value) : value
      })
    },
    find: (name) => (Object.hasOwn(all, name) ? all[name as TextName] : undefined),
    decimal,
    listed(name, at) {
      const known = lists.get(name) ?? all[name].split(',').map((one) => one.trim())
      lists.set(name, known)
      return known[at] ?? ''
    },
  }
}

/** The names in a text's braces, in their order. */
export const bracesIn = (text: string): readonly string[] =>
  [...text.matchAll(brace)].map(([, name]) => name!)
