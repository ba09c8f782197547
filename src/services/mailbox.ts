import type { Wording } from '../words/air/wording.js'
import { keptText } from './airText.js'
import { parseCall } from './callWords.js'
import { leaveByEmail } from './email/email.js'
import { keptWords } from './keptWords.js'
import type { LeaveRefusal, Question, Service, ServiceContext } from './service.js'
import { counted, wordingOf } from './wordingOf.js'

/** `leave CALL TEXT`: a message for somebody who is not on the air now. */
export const leaveService: Service = {
  keyword: 'leave',
  summary: 'CALL is told that a message waits',
  usage: 'leave CALL TEXT',
  takes: 'text',
  answer(question, context) {
    const wording = wordingOf(context)
    const { say } = wording
    const word = question.words[0]
    if (word === undefined) return say('leaveExample')
    const call = parseCall(word)
    const byEmail = call === undefined ? leaveByEmail(question, word, context) : undefined
    if (byEmail !== undefined) return byEmail
    if (call === undefined) return say('leaveNoCall', { word: word.slice(0, 12) })
    const text = keptText(question.rest.slice(word.length))
    if (text === '') return `${say('leaveWhat', { call })} ${say('leaveExample')}`
    return leftText(question, call, text, context)
  },
}

/** `reply TEXT`: a message for who left the one that the asker collected last. */
export const replyService: Service = {
  keyword: 'reply',
  summary: 'Leaves TEXT for who sent your last message',
  usage: 'reply TEXT',
  takes: 'text',
  answer(question, context) {
    const { say } = wordingOf(context)
    const text = keptText(question.rest)
    if (text === '') return say('replyHow')
    const call = context.mailbox.lastCollectedFrom?.(question.from)
    return call === undefined ? say('replyNone') : leftText(question, call, text, context)
  },
}

function leftText(question: Question, call: string, text: string, context: ServiceContext): string {
  const wording = wordingOf(context)
  const result = context.mailbox.leave(question, call, text)
  if (!result.ok) return refusalWords(result, call, wording)
  const kept = keptWords(result.keptMs, wording)
  const { waitingCount: count } = result
  return count > 1
    ? wording.say('keptAmong', { kept, call, count })
    : wording.say('kept', { kept, call })
}

function refusalWords(refusal: LeaveRefusal, call: string, { say }: Wording): string {
  switch (refusal.reason) {
    case 'sender-quota':
      return say('senderQuota', { count: refusal.limit })
    case 'addressee-quota':
      return say('addresseeQuota', { count: refusal.limit, call })
    case 'bad-call':
      return say('badCall', { call })
    case 'too-long': {
      const { excessCharacters: count, charactersMax: most } = refusal
      return count === 1 ? say('notKeptLong1', { most }) : say('notKeptLong', { count, most })
    }
    case 'mailbox-full':
      return say('mailboxFull')
    case 'out-of-order':
      return say('notKeptOutOfOrder')
  }
}

/** `collect`: the messages that wait for the asker; the node sends them, each on its own. */
export const collectService: Service = {
  keyword: 'collect',
  summary: 'Sends you the messages that were left for you',
  usage: 'collect',
  answer(question, context) {
    const wording = wordingOf(context)
    const collected = context.mailbox.collect(question)
    if (collected === 'out-of-order') return wording.say('mailboxOutOfOrder')
    const { length } = collected
    if (length === 0) return wording.say('nothingWaits', { call: question.from })
    return counted(length, 'oneFollows', 'manyFollow', wording)
  },
}
