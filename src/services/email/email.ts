import type { Wording } from '../../words/air/wording.js'
import { keptText } from '../airText.js'
import type {
  Answer,
  EmailReceiver,
  EmailRefusal,
  Question,
  Service,
  ServiceContext,
} from '../service.js'
import { wordingOf } from '../wordingOf.js'
import { isShortName, parseEmailAddress, shownAddress } from './address.js'

/**
 * `leave NAME@PLACE TEXT`, and with a short name for the address.
 * @returns undefined for a word that names nobody whom mail could be sent to, and does not look like it
 */
export function leaveByEmail(
  question: Question,
  word: string,
  context: ServiceContext,
): Answer | undefined {
  const { email, language } = context
  const wording = wordingOf(context)
  const { say } = wording
  const isAddress = word.includes('@')
  if (email === undefined) return isAddress ? say('emailOff') : undefined
  const to = email.receiverOf(question.from, word)
  if (to === undefined)
    return isAddress ? say('emailNobody', { word: shownAddress(word, 14) }) : undefined
  const text = keptText(question.rest.slice(word.length))
  const shown = shownAddress(to.name)
  if (text === '') return say('emailWhat', { to: shown })
  const result = email.write(question, to, text, language)
  return result.ok ? say('emailKept', { to: shown }) : emailRefusalText(result, to, wording)
}

/** Why a mail is not kept. */
function emailRefusalText(refusal: EmailRefusal, to: EmailReceiver, { say }: Wording): string {
  switch (refusal.reason) {
    case 'sender':
      return say('emailSender')
    case 'receiver':
      return say('emailReceiver', { to: shownAddress(to.name) })
    case 'day-limit':
      return say('emailDay', { count: refusal.limit })
    case 'queue-full':
      return say('emailFull')
    case 'too-long':
      return say('emailLong', { most: refusal.limit })
    case 'out-of-order':
      return say('emailOutOfOrder')
  }
}

/** Takes a name away. */
const noAddress = /^(off|none|-)$/i

/** `name NAME ADDRESS`: a short name of the sender's own for a mail address. */
export const nameService: Service = {
  keyword: 'name',
  summary: 'A short name for a mail address: leave NAME TEXT sends mail there',
  usage: 'name NAME ADDRESS',
  takes: 'text',
  answer(question, context) {
    const { email } = context
    const { say } = wordingOf(context)
    if (email === undefined) return say('emailOff')
    const [word = '', second = ''] = question.rest.trim().split(/\s+/)
    if (word === '') return ownNames(email.namesOf(question.from), wordingOf(context))
    // People also write the address first.
    const [name, address] = word.includes('@') ? [second, word] : [word, second]
    if (!isShortName(name))
      return say('emailNameBad', { word: shownAddress(name === '' ? word : name, 14) })
    if (address === '') {
      const known = email.receiverOf(question.from, name)
      return known === undefined
        ? say('emailNameUnknown', { name })
        : say('emailNameSet', { name, to: shownAddress(known.address) })
    }
    const isOff = noAddress.test(address)
    const parsed = isOff ? undefined : parseEmailAddress(address)
    if (parsed === undefined && !isOff)
      return say('emailNobody', { word: shownAddress(address, 14) })
    const result = email.setName(question, name.toLowerCase(), parsed)
    if (result.ok)
      return parsed === undefined
        ? say('emailNameGone', { name })
        : say('emailNameSet', { name, to: shownAddress(parsed) })
    switch (result.reason) {
      case 'unknown':
        return say('emailNameUnknown', { name })
      case 'names-full':
        return say('emailNamesFull', { count: result.limit })
      case 'out-of-order':
        return say('emailOutOfOrder')
    }
  },
}

const ownNames = (names: readonly EmailReceiver[], { say }: Wording): string =>
  names.length === 0
    ? say('emailNoNames')
    : names.map(({ name, address }) => `${name}: ${shownAddress(address, 50)}`).join(', ')
