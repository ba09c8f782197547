import type { Email } from '../../store/emails.js'
import type { OutgoingMail } from './carrier.js'
import type { EmailOptions } from './emailOptions.js'

/**
 * A mail as it goes out. Nothing that came by radio stands in a header but the call sign and the receiver's address, which were
 * looked at when they came; the text stands in the body only.
 * @param node the node's call
 * @param dateWallMs undefined while the clock is not trusted
 */
export function outgoingMail(
  email: Email,
  node: string,
  options: EmailOptions,
  dateWallMs: number | undefined,
): OutgoingMail {
  const { from, toAddress: to, messageId, inReplyTo, kind } = email
  const isReport = kind === 'report'
  return {
    ...{ from: options.from, to, messageId, inReplyTo, dateWallMs, automatic: isReport },
    fromName: isReport ? `${node} by radio` : `${from} by radio`,
    subject: isReport ? `${node}: your mail by radio` : `${from} by radio`,
    text: bodyOf(email, node, options),
  }
}

function bodyOf({ kind, from, text }: Email, node: string, options: EmailOptions): string {
  const { footer } = options
  const told = [
    kind === 'report'
      ? `From the amateur radio station ${node}. Nobody reads answers to this mail.`
      : `From ${from} by amateur radio, through ${node}, in the clear: anybody may have heard it, and anybody hears what you answer.`,
    ...(kind === 'letter' && takesAnswers(options)
      ? ['To answer, reply to this mail with a short plain text, and no business.']
      : []),
    ...(footer === '' ? [] : [footer]),
  ]
  return `${text}\n\n-- \n${told.join('\n')}\n`
}

const takesAnswers = ({ inbox }: EmailOptions): boolean => inbox.isOpen && inbox.answers
