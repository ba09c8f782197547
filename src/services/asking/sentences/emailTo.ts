import { tokensOf } from '../tokens.js'
import type { Offered, Understanding } from '../understanding.js'
import { askFor, isByKeyword, isSmall, type Sentence } from './sentence.js'

/** Something that mail can go to, as it stands in a text; looked for from the beginning of a word only, or a long one takes long. */
const address = /(?<![^\s@<>,;:"()])[^\s@<>,;:"()]+@[^\s@<>,;:"()]+\.[a-z]{2,}/i

/** An address decides: 'email mum@example.com got here' is mail to it; behind other words it is told whether mail goes, and how. */
export function emailTo(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { text, first } = sentence
  const found = address.exec(text)
  if (found === null) return undefined
  const isOfMail = ['mail', 'leave', 'collect'].includes(first?.service.keyword ?? '')
  if (isByKeyword(sentence) && !isOfMail) return undefined
  const { vocabulary } = offered
  const isBegun = tokensOf(text.slice(0, found.index)).every(
    (token) =>
      isSmall(token, offered) ||
      vocabulary.sending.has(token.folded) ||
      vocabulary.putting.has(token.folded) ||
      vocabulary.roles.get('message')?.has(token.folded) === true ||
      ['collect', 'leave', 'mail'].includes(vocabulary.meanings.get(token.folded)?.keyword ?? '') ||
      ['mail', 'leave'].includes(token.folded),
  )
  const behind = text.slice(found.index + found[0].length).replace(/^[\s,:;.!?"')>\]-]+/, '')
  return askFor('leave', isBegun ? `${found[0]} ${behind}`.trim() : found[0], offered)
}
