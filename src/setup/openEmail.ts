import type { Config } from '../config/schema.js'
import { maildir } from '../links/maildir.js'
import { smtpSubmission } from '../links/smtp.js'
import { type EmailLink, emailLink, type MakeEmail } from '../node/email/email.js'
import { emailOptions, maildirFolder, smtpOptions } from './emailOptions.js'

export interface OpenEmail {
  readonly make: MakeEmail
  /** Once it was made. @returns why the mail cannot go, in words; undefined where it is on the disk */
  alert(to: string, text: string): string | undefined
  /** Ends what is being sent: a later run takes it up. */
  close(): void
}

/**
 * Mail with its carriers, out of a configuration that has it enabled.
 * @param folder of the configuration file
 * @param during given whatever takes the machine's time, for a clock of another kind to wait for
 */
export function openEmail(
  config: Config,
  folder: string,
  onFault: (text: string) => void,
  during: <Value>(work: Promise<Value>) => Promise<Value> = (work) => work,
): OpenEmail {
  const options = emailOptions(config)
  const { submit, close } = smtpSubmission(smtpOptions(config, folder))
  const inbox = maildirFolder(config, folder)
  const look =
    inbox === undefined
      ? undefined
      : maildir({ folder: inbox, onFault: (reason) => onFault(`mail: ${reason}`) })
  let link: EmailLink | undefined
  return {
    make(needs) {
      link = emailLink({
        ...{ ...needs, options, submit: (mail) => during(submit(mail)) },
        look: look && ((take) => during(look(take))),
      })
      return link
    },
    alert: (to, text) => (link === undefined ? 'the node has not begun' : link.alert(to, text)),
    close,
  }
}
