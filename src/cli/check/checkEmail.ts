import type { Config } from '../../config/schema.js'
import { type Finding, look, mend } from '../shared/finding.js'

/** Whom mail goes to and comes from, and how. */
export function emailLines({ email, node }: Config): [string, string][] {
  const { server, inbox } = email
  const names = Object.entries(email.names).map(([name, address]) => `${name} (${address})`)
  const tls = { starttls: 'TLS by STARTTLS', implicit: 'TLS', none: 'without TLS' }[server.tls]
  const login = server.user === '' ? 'no login' : `login ${server.user}`
  return [
    ['sent as', email.from ?? 'nobody'],
    ['through', `${server.host} port ${server.port}, ${tls}, ${login}`],
    ['written by', listed(email.senders, 'every station')],
    ['goes to', listed(email.receivers, 'every address')],
    ...(names.length === 0 ? [] : ([['and to', names.join(', ')]] as [string, string][])),
    [
      'limits',
      `${email.perSenderDay} a day of one call, ${email.perDay} in all, ${email.waitingMax} waiting, ${email.textOctets} octets each; given up after ${email.keepDays} days`,
    ],
    [
      'comes in',
      inbox.folder === ''
        ? 'nothing'
        : `by ${inbox.folder}, from ${listed(inbox.senders, 'every address')}${inbox.answers ? ', and answers to what was sent' : ''}; at most ${inbox.messagesMax} messages each, kept ${node.mailbox.keepDays} days`,
    ],
  ]
}

const listed = (list: readonly string[], all: string): string =>
  list.includes('*') ? all : list.length === 0 ? 'nobody' : list.join(', ')

/** What the licensee has to see to. */
export function emailFindings({ email }: Config): Finding[] {
  if (!email.enabled) return []
  const { senders, receivers, names, inbox, server } = email
  const goesNowhere = receivers.length === 0 && Object.keys(names).length === 0
  return [
    ...(senders.length === 0
      ? [mend('email.senders', 'nobody may send mail: name the calls that may')]
      : []),
    ...(goesNowhere
      ? [mend('email.receivers', 'mail may go to nobody: name the addresses, or give names')]
      : []),
    ...(server.tls === 'none'
      ? [
          look(
            'email.server.tls',
            'mail goes to the server without TLS: whoever hears the link can read and change it, and the replies of the server',
          ),
        ]
      : []),
    ...(inbox.folder !== '' && inbox.senders.includes('*')
      ? [
          look(
            'email.inbox.senders',
            'everybody can have this station transmit what he writes: name the addresses that may',
          ),
        ]
      : []),
    look(
      'email',
      'it carries messages of third parties, in the clear and without anybody looking at them: look up your local rules first on third-party traffic, on who may speak through the station, on countries with which such traffic is agreed, and on business (47 CFR 97.113, 97.115 and 97.219 where the FCC has the say). The address of a sender can be forged: only the mail server can know better. Who holds the licence answers for the station',
    ),
  ]
}
