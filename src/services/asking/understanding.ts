import type { Service } from '../service.js'
import type { Vocabulary } from './vocabulary.js'

/** What else is asked for: how that is asked is told behind the answer. */
export interface Other {
  readonly service: Service
  readonly argument?: string | undefined
}

/** What a text means. */
export type Understanding =
  | {
      readonly kind: 'service'
      readonly service: Service
      /** the arguments: known words in their one form ('domani' is 'tomorrow'), others as sent, politeness left out */
      readonly words: readonly string[]
      /** the text after what named the service, as sent */
      readonly rest: string
      /** asked: it begins with the service's name; guessed: found within a text, mistyped, or an argument alone */
      readonly manner: 'asked' | 'guessed'
      /** a second thing that the text asks for */
      readonly other?: Other
    }
  | { readonly kind: 'greeting'; readonly sort: 'hello' | 'thanks' | 'cancel' }
  /** how its only service is asked */
  | { readonly kind: 'usage'; readonly service: Service }
  /** what may have been meant, nearest first; `word` is what was sent */
  | {
      readonly kind: 'offer'
      readonly word: string
      readonly services: readonly Service[]
      readonly argument?: string
      /** what cannot be done here, which is said with it */
      readonly refused?: 'booking'
    }
  /** the service is known and not offered here */
  | { readonly kind: 'absent'; readonly keyword: string }
  | { readonly kind: 'nothing'; readonly word: string }

export interface Offered {
  readonly services: readonly Service[]
  readonly vocabulary: Vocabulary
  /** true for a tactical name, which is no keyword whatever it looks like: 'CHECK1' asks no service 'checkpoint' */
  readonly isName?: ((word: string) => boolean) | undefined
  /** every text is a question to the only service */
  readonly only?: boolean
}
