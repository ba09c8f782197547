import { createHash } from 'node:crypto'

const letters = 'abcdefghijklmnopqrstuvwxyz234567'

/** So many characters a to z, 2 to 7 out of what they are named by: the same for the same. */
export function characters(count: number, ...named: readonly (string | number)[]): string {
  const digest = createHash('sha256').update(named.join('\n')).digest()
  return Array.from({ length: count }, (_, index) => letters[digest[index]! & 31]!).join('')
}

/** The id of an entry that begins at a node: the same each time that the same thing is handed on. */
export const entryIdOf = (own: string, ...named: readonly (string | number)[]): string =>
  `${own}.${characters(10, own, ...named).toUpperCase()}`

/** How a mailbox entry, or a notice, that came from another node is named as a question. */
const questionPrefix = 'hill '
export const questionOfEntry = (entryId: string): string => questionPrefix + entryId
/** @returns undefined for what began here */
export const entryOfQuestion = (questionId: string): string | undefined =>
  questionId.startsWith(questionPrefix) ? questionId.slice(questionPrefix.length) : undefined

/** Of the withdrawal of an entry by this node. */
export const withdrawalOf = (own: string, entryId: string): string =>
  entryIdOf(own, 'withdrawal', entryId)
