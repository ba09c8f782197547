import { parseConfig } from '../../src/config/load.js'
import type { LookForMail, OutgoingMail, Submitted } from '../../src/node/email/carrier.js'
import { type EmailLink, emailLink } from '../../src/node/email/email.js'
import type { EmailOptions } from '../../src/node/email/emailOptions.js'
import { nameService } from '../../src/services/email/email.js'
import { mailService } from '../../src/services/mail.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { emailOptions } from '../../src/setup/emailOptions.js'
import type { Email } from '../../src/store/emails.js'
import type { Store } from '../../src/store/store.js'
import { type TestNode, type TestNodeOptions, testNode } from '../node/testNode.js'

export const emailConfig = (more = ''): ReturnType<typeof parseConfig> =>
  parseConfig(
    `[email]
     enabled = true
     from = "hill@station.example"
     senders = ["N0CALL"]
     receivers = ["*@example.org"]
     names = { hut = "hut@mountain.example" }
     ${more}
     [email.server]
     host = "localhost"
     [email.inbox]
     folder = "inbox"
     senders = ["anna@example.org"]`,
    'test',
  )

/** A node with mail whose carrier is given: each try waits for what the test says of it. */
export function emailNode(
  given: TestNodeOptions & {
    readonly mail?: Partial<EmailOptions>
    readonly submit: (mail: OutgoingMail) => Promise<Submitted>
    readonly look?: LookForMail
    readonly onLink?: (link: EmailLink) => void
  },
): TestNode {
  const options = { ...emailOptions(emailConfig()), ...given.mail }
  return testNode({
    services: [leaveService, collectService, nameService, mailService],
    ...given,
    email(needs) {
      const link = emailLink({ ...needs, options, submit: given.submit, look: given.look })
      given.onLink?.(link)
      return link
    },
  })
}

/** All that there are, whatever their state. */
export const everyEmail = (store: Store): Email[] =>
  Array.from({ length: 2_000 }, (_, at) => store.emails.find(at + 1)).flatMap((one) => one ?? [])

/** Acknowledges what N0CALL-7 is sent, and returns the texts. */
export async function converse(node: TestNode, seconds = 40): Promise<string[]> {
  const texts: string[] = []
  for (let second = 0; second < seconds; second++) {
    await node.wait(1)
    for (const text of node.sentTexts()) {
      const [, number] = /^:N0CALL-7 :.*\{(\w+)$/.exec(text) ?? []
      if (number === undefined) continue
      texts.push(text.slice(11).replace(/\{\w+$/, ''))
      node.ask('N0CALL-7', `ack${number}`)
    }
  }
  return texts
}
