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
  return {
    ...{ from: options.from, to, messageId, inReplyTo, dateWallMs, automatic: kind !== 'letter' },
    fromName: kind === 'letter' ? `${from} by radio` : `${node} by radio`,
    subject: {
      letter: `${from} by radio`,
      report: `${node}: your mail by radio`,
      alert: `${node}: alert`,
    }[kind],
    text: bodyOf(email, node, options),
  }
}

function bodyOf({ kind, from, text }: Email, node: string, options: EmailOptions): string {
  const { footer } = options
  const told = [
    kind === 'letter'
      ? `From ${from} by amateur radio, through ${node}, in the clear: anybody may have heard it, and anybody hears what you answer.`
      : `From the amateur radio station ${node}. Nobody reads answers to this mail.`,
    ...(kind === 'letter' && takesAnswers(options)
      ? ['To answer, reply to this mail with a short plain text, and no business.']
      : []),
    ...(footer === '' ? [] : [footer]),
  ]
  return `${text}\n\n-- \n${told.join('\n')}\n`
}

const takesAnswers = ({ inbox }: EmailOptions): boolean => inbox.isOpen && inbox.answers
