import { languageOf } from '../services/asking/languageOf.js'
import { standardVocabulary } from '../services/asking/vocabulary.js'
import { standardWordings } from '../words/air/all.js'
import type { Wording } from '../words/air/wording.js'
import type { NodeOptions } from './options.js'
import type { NodeParts } from './serviceNode.js'

/** The words of the language that a text is in; without one, or where it is in none that is known, the station's own. */
export type WordingFor = (text?: string) => Wording

/** @param options as they are now: they may change while the node runs */
export const wordingFor =
  (
    { wordings = standardWordings, vocabulary = standardVocabulary }: NodeParts,
    options: Pick<NodeOptions, 'language'>,
  ): WordingFor =>
  (text) =>
    wordings.of((text === undefined ? undefined : languageOf(text, vocabulary)) ?? options.language)
