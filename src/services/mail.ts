import { shortenedText } from '../aprs/messageText.js'
import type { TextName } from '../words/air/texts.js'
import type { Wording } from '../words/air/wording.js'
import { parseCall } from './callWords.js'
import { agoWords } from './geo/words.js'
import type {
  Answer,
  AsSent,
  LeftMessage,
  Question,
  Service,
  ServiceContext,
  WithdrawResult,
} from './service.js'
import { wordingOf } from './wordingOf.js'

/** Lines of a list; more of them go out where 'all' is asked for. */
const shownDefault = 3
const shownMax = 9
/** Withdrawn with one question. */
const cancelledMax = 5

const cancelWords =
  /^(cancel|withdraw|delete|off|drop|abbrechen|zurueck|zurueckziehen|loeschen|annuler|annule|retirer|cancelar|cancela|retirar|retira|annulla|annullare|ritira)$/i
const allWords = /^(all|alle|alles|tous|tout|todos|todo|tutti|tutto)$/i

/** `mail`: what the asker left here, and what became of it; `mail 12`: one of it; `mail cancel 12` takes it back. */
export const mailService: Service = {
  keyword: 'mail',
  summary: 'What you left here and what became of it; takes it back',
  usage: 'mail [N] (or: mail cancel N)',
  takes: 'text',
  instead(rest) {
    const [first = '', second] = rest.split(/\s+/)
    const isReceiver = parseCall(first) !== undefined || first.includes('@')
    return isReceiver && second !== undefined ? 'leave' : undefined
  },
  messagesMax: ({ words }) => (words.some((word) => allWords.test(word)) ? shownMax + 1 : 4),
  answer(question, context) {
    const [first = '', ...others] = question.words.map(plain)
    if (cancelWords.test(first)) return cancelText(question, others, context)
    if (/\d/.test(first)) return oneText(question, first, context)
    return listText(question, allWords.test(first) ? shownMax : shownDefault, context)
  },
}

/** 'zurück' and 'löschen' as their words above have them; '#12,' is 12. */
const plain = (word: string): string =>
  word
    .replace(/[üÜ]/g, 'ue')
    .replace(/[öÖ]/g, 'oe')
    .replace(/^#|[.,;:!?]+$/g, '')

const leftBy = ({ from }: Question, { mailbox, email }: ServiceContext): LeftMessage[] => {
  const all = [...(mailbox.leftBy?.(from) ?? []), ...(email?.writtenBy?.(from) ?? [])]
  return all.sort((a, b) => Number(isOpen(b)) - Number(isOpen(a)))
}

const isOpen = ({ state }: LeftMessage): boolean =>
  state === 'waiting' || state === 'sending' || state === 'passed on'

function listText(question: Question, shownCount: number, context: ServiceContext): Answer {
  const wording = wordingOf(context)
  const { say } = wording
  const waiting = context.mailbox.waitingFor(question.from).length
  const forAsker =
    waiting === 0 ? [] : [waiting === 1 ? say('oneWaits') : say('manyWait', { count: waiting })]
  const all = leftBy(question, context)
  if (all.length === 0) return waiting > 0 ? forAsker : say('mailNone')
  const lines = all.slice(0, shownCount).map((one) => lineOf(one, context, wording))
  const more = all.length - lines.length
  const isEnd = more === 0 || shownCount === shownMax
  return [...forAsker, ...lines, ...(isEnd ? [] : [say('mailMore', { count: more })])]
}

function oneText(question: Question, word: string, context: ServiceContext): Answer {
  const wording = wordingOf(context)
  const message = leftBy(question, context).find(({ number }) => number === word.toUpperCase())
  if (message === undefined) return wording.say('mailNotYours', { word: word.slice(0, 12) })
  const whole: AsSent = { asSent: statusText(message, context, wording) }
  return isOpen(message) ? [whole, wording.say('mailHowCancel', { id: message.number })] : [whole]
}

function cancelText(question: Question, words: readonly string[], context: ServiceContext): Answer {
  const wording = wordingOf(context)
  const [only, ...others] = leftBy(question, context).filter(isOpen)
  const named = words.filter((word) => /\d/.test(word)).slice(0, cancelledMax)
  if (named.length > 0)
    return named.map((word) => cancelledText(question, numberOf(word, question, context), context))
  if (only === undefined) return wording.say('mailNone')
  if (others.length === 0) return [cancelledText(question, only.number, context)]
  const lines = [only, ...others].slice(0, shownDefault)
  return [wording.say('mailWhich'), ...lines.map((one) => lineOf(one, context, wording))]
}

/** A number of the list, or the call to which the only open one goes. */
function numberOf(word: string, question: Question, context: ServiceContext): string {
  const to = word.toUpperCase()
  const own = leftBy(question, context).filter((one) => one.to === to)
  const open = own.filter(isOpen)
  return (open.length === 0 ? own[0] : open.length === 1 ? open[0] : undefined)?.number ?? to
}

function cancelledText(
  question: Question,
  number: string,
  context: ServiceContext,
): string | AsSent {
  const wording = wordingOf(context)
  const { say } = wording
  const result = withdrawn(question, number, context)
  const id = number
  switch (result.kind) {
    case 'withdrawn': {
      const { to } = result
      return result.perhaps ? say('mailPerhaps', { id, to }) : say('mailCancelled', { id, to })
    }
    case 'several':
      return say('mailPartly', { id, done: result.haveIt })
    case 'asked':
      return say('mailAsked', { id })
    case 'over':
      return lineOf(result.message, context, wording)
    case 'unknown':
      return say('mailNotYours', { word: number.slice(0, 12) })
    case 'out-of-order':
      return say('mailboxOutOfOrder')
  }
}

function withdrawn(
  question: Question,
  number: string,
  { mailbox, email }: ServiceContext,
): WithdrawResult {
  const own = mailbox.withdraw?.(question, number) ?? { kind: 'unknown' }
  return own.kind === 'unknown' ? (email?.withdraw?.(question, number) ?? own) : own
}

const states = {
  waiting: 'mailWaits',
  sending: 'mailOnAir',
  'passed on': 'mailElsewhere',
  delivered: 'mailDelivered',
  refused: 'mailRefused',
  expired: 'mailExpired',
  withdrawn: 'mailWithdrawn',
  lost: 'mailLost',
  sent: 'mailSent',
  unsure: 'mailUnsure',
} as const satisfies Record<LeftMessage['state'], TextName>

/** In people's own characters, and whole. */
function statusText(
  { number: id, to, text, leftWallMs, endedWallMs, state, several }: LeftMessage,
  { clock }: ServiceContext,
  wording: Wording,
): string {
  const { say } = wording
  if (several !== undefined)
    return say('mailSeveral', { id, count: several.count, done: several.haveIt, text })
  const ago = agoWords(clock.wallMs() - (endedWallMs ?? leftWallMs), wording)
  return say(states[state], { id, to, ago, text })
}

/** As much of it as one message holds. */
const lineOf = (message: LeftMessage, context: ServiceContext, wording: Wording): AsSent => ({
  asSent: shortenedText(statusText(message, context, wording)),
})
