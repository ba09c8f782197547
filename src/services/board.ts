import { keptText } from './airText.js'
import { composedAsSent } from './compose.js'
import { ageWords } from './geo/words.js'
import { keptWords, tooLongWords } from './keptWords.js'
import type { PostRefusal, Service } from './service.js'

const shownDefault = 3
const shownMax = 9

/** `board`: the newest notices, each a message of its own. */
export const boardService: Service = {
  keyword: 'board',
  summary: 'The newest notices of the board; board 6 for six',
  usage: 'board [N]',
  messagesMax: (question) => shownOf(question.words[0]),
  answer(question, context) {
    const notices = context.notices.recent(shownOf(question.words[0]))
    if (notices.length === 0) return 'The board is empty. Post with: post TEXT'
    const nowMs = context.clock.wallMs()
    return composedAsSent(
      notices.map(
        ({ from, text, postedWallMs }) => `${from} ${ageWords(nowMs - postedWallMs)}: ${text}`,
      ),
    )
  },
}

/** `post TEXT`: puts a notice on the board. */
export const postService: Service = {
  keyword: 'post',
  summary: 'Puts a notice on the board for everybody',
  usage: 'post TEXT',
  takes: 'text',
  answer(question, context) {
    const text = keptText(question.rest)
    if (text === '') {
      // In German, 'Post' is mail.
      const count = context.mailbox.waitingFor(question.from).length
      return `To post send: post TEXT. Messages for you: ${count} (send collect)`
    }
    const result = context.notices.post(question, text)
    if (!result.ok) return refusalWords(result)
    return `On the board for ${keptWords(result.keptMs)}. To read it: board`
  },
}

function refusalWords(refusal: PostRefusal): string {
  switch (refusal.reason) {
    case 'sender-quota':
      return `Not posted: yours are ${refusal.limit} of ${refusal.limit}.${oldestGoes(refusal.freeAfterMs)}`
    case 'board-full':
      return `Not posted: the board is full.${oldestGoes(refusal.freeAfterMs)}`
    case 'too-long':
      return `Not posted: ${tooLongWords(refusal)}`
    case 'out-of-order':
      return 'Not posted: the board is out of order. Tell the operator.'
  }
}

const oldestGoes = (freeAfterMs: number | undefined): string =>
  freeAfterMs === undefined ? '' : ` The oldest goes in ${keptWords(freeAfterMs)}.`

function shownOf(word: string | undefined): number {
  if (word?.toLowerCase() === 'all') return shownMax
  const wanted = Number(word ?? shownDefault)
  return Number.isInteger(wanted) && wanted >= 1 ? Math.min(wanted, shownMax) : shownDefault
}
