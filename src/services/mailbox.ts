import { keptText } from './airText.js'
import { parseCall } from './callWords.js'
import { keptWords, tooLongWords } from './keptWords.js'
import type { LeaveRefusal, Service } from './service.js'

/** `leave CALL TEXT`: a message for somebody who is not on the air now. */
export const leaveService: Service = {
  keyword: 'leave',
  summary: 'CALL is told that a message waits',
  usage: 'leave CALL TEXT',
  takes: 'text',
  answer(question, context) {
    const example = 'Send e.g. leave N0CALL-7 meet at the hut at 6'
    const word = question.words[0]
    if (word === undefined) return example
    const call = parseCall(word)
    if (call === undefined) return `"${word.slice(0, 12)}" is not a call sign. Send leave CALL TEXT`
    const text = keptText(question.rest.slice(word.length))
    if (text === '') return `What should ${call} be told? ${example}`
    const result = context.mailbox.leave(question, call, text)
    if (!result.ok) return refusalWords(result, call)
    const others = result.waitingCount > 1 ? ` (${result.waitingCount} waiting)` : ''
    return `Kept ${keptWords(result.keptMs)} for ${call}${others}. You are told when it is delivered.`
  },
}

function refusalWords(refusal: LeaveRefusal, call: string): string {
  switch (refusal.reason) {
    case 'sender-quota':
      return `Not kept: ${refusal.limit} of yours wait already. Wait until one is collected.`
    case 'addressee-quota':
      return `Not kept: ${refusal.limit} wait for ${call} already. Try again later.`
    case 'bad-call':
      return `Not kept: no message can be left for ${call}.`
    case 'too-long':
      return `Not kept: ${tooLongWords(refusal)}`
    case 'mailbox-full':
      return 'Not kept: the mailbox is full. Try again later.'
    case 'out-of-order':
      return 'Not kept: the mailbox is out of order. Tell the operator.'
  }
}

/** `collect`: the messages that wait for the asker; the node sends them, each on its own. */
export const collectService: Service = {
  keyword: 'collect',
  summary: 'Sends you the messages that were left for you',
  usage: 'collect',
  answer(question, context) {
    const collected = context.mailbox.collect(question)
    if (collected === 'out-of-order') return 'The mailbox is out of order. Tell the operator.'
    const { length } = collected
    if (length === 0) return `Nothing is waiting for ${question.from}.`
    return length === 1 ? '1 message for you follows.' : `${length} messages for you follow.`
  },
}
