import { effect, signal } from '@preact/signals'
import { en, type Words } from './words/en'

export const languages = { en: 'English', de: 'Deutsch', fr: 'Français' } as const
export type Language = keyof typeof languages
export const looks = ['auto', 'light', 'dark', 'ink'] as const
export type Look = (typeof looks)[number]

const kept = (name: string): string | null => {
  try {
    return localStorage.getItem(name)
  } catch {
    return null
  }
}
const keep = (name: string, value: string): void => {
  try {
    localStorage.setItem(name, value)
  } catch {
    // A browser that keeps nothing forgets it with the page.
  }
}

const wanted = kept('language') ?? navigator.language.slice(0, 2)
export const language = signal<Language>(wanted in languages ? (wanted as Language) : 'en')
export const words = signal<Words>(en)
export const look = signal<Look>(looks.find((one) => one === kept('look')) ?? 'auto')
/** of several radios, the one that is shown; undefined: all */
export const shownRadio = signal<number | undefined>(undefined)

const loaders: Readonly<Record<Language, () => Promise<Words>>> = {
  en: async () => en,
  de: async () => (await import('./words/de')).de,
  fr: async () => (await import('./words/fr')).fr,
}

effect(() => {
  const chosen = language.value
  keep('language', chosen)
  void loaders[chosen]().then((loaded) => {
    if (language.peek() !== chosen) return
    words.value = loaded
    document.documentElement.lang = loaded.lang
  })
})

effect(() => {
  keep('look', look.value)
  document.documentElement.dataset.look = look.value
})

const reducedMotion = matchMedia('(prefers-reduced-motion: reduce)')
/** whoever looks wants no motion; may change at any time */
export const isStill = signal(reducedMotion.matches)
reducedMotion.addEventListener('change', ({ matches }) => {
  isStill.value = matches
})
