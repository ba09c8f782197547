import type { Wording } from '../words/air/wording.js'
import { keptText } from './airText.js'
import { composedAsSent } from './compose.js'
import { ageWords } from './geo/words.js'
import { keptWords } from './keptWords.js'
import type { PostRefusal, Service } from './service.js'
import { wordingOf } from './wordingOf.js'

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
    const wording = wordingOf(context)
    if (notices.length === 0) return wording.say('boardEmpty')
    const nowMs = context.clock.wallMs()
    return composedAsSent(
      notices.map(
        ({ from, text, postedWallMs }) =>
          `${from} ${ageWords(nowMs - postedWallMs, wording)}: ${text}`,
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
    const wording = wordingOf(context)
    if (text === '') {
      // In German, 'Post' is mail.
      const count = context.mailbox.waitingFor(question.from).length
      return wording.say('postHow', { count })
    }
    const result = context.notices.post(question, text)
    if (!result.ok) return refusalWords(result, wording)
    return wording.say('posted', { kept: keptWords(result.keptMs, wording) })
  },
}

function refusalWords(refusal: PostRefusal, wording: Wording): string {
  const { say } = wording
  switch (refusal.reason) {
    case 'sender-quota':
      return `${say('postQuota', { count: refusal.limit })}${oldestGoes(refusal.freeAfterMs, wording)}`
    case 'board-full':
      return `${say('boardFull')}${oldestGoes(refusal.freeAfterMs, wording)}`
    case 'too-long': {
      const { excessCharacters: count, charactersMax: most } = refusal
      return count === 1 ? say('notPostedLong1', { most }) : say('notPostedLong', { count, most })
    }
    case 'out-of-order':
      return say('boardOutOfOrder')
  }
}

const oldestGoes = (freeAfterMs: number | undefined, wording: Wording): string =>
  freeAfterMs === undefined
    ? ''
    : ` ${wording.say('oldestGoes', { kept: keptWords(freeAfterMs, wording) })}`

function shownOf(word: string | undefined): number {
  if (word?.toLowerCase() === 'all') return shownMax
  const wanted = Number(word ?? shownDefault)
  return Number.isInteger(wanted) && wanted >= 1 ? Math.min(wanted, shownMax) : shownDefault
}
