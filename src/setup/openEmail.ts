import type { Config } from '../config/schema.js'
import { maildir } from '../links/maildir.js'
import { smtpSubmission } from '../links/smtp.js'
import { emailLink, type MakeEmail } from '../node/email/email.js'
import { emailOptions, maildirFolder, smtpOptions } from './emailOptions.js'

export interface OpenEmail {
  readonly make: MakeEmail
  /** Ends what is being sent: a later run takes it up. */
  close(): void
}

/**
 * Mail with its carriers, out of a configuration that has it enabled.
 * @param folder of the configuration file
 */
export function openEmail(
  config: Config,
  folder: string,
  onFault: (text: string) => void,
): OpenEmail {
  const options = emailOptions(config)
  const { submit, close } = smtpSubmission(smtpOptions(config, folder))
  const inbox = maildirFolder(config, folder)
  const look =
    inbox === undefined
      ? undefined
      : maildir({ folder: inbox, onFault: (reason) => onFault(`mail: ${reason}`) })
  return { make: (needs) => emailLink({ ...needs, options, submit, look }), close }
}
