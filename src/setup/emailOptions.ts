import { resolve } from 'node:path'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import type { SmtpOptions } from '../links/smtp.js'
import type { EmailOptions } from '../node/email/emailOptions.js'

/** What the node is told of mail, out of the configuration. */
export function emailOptions(config: Config): EmailOptions {
  const { enabled: _, server: __, inbox, from = '', ...rest } = inBaseUnits(config.email)
  const { folder, ...taking } = inbox
  return { ...rest, from, inbox: { ...taking, isOpen: folder !== '' } }
}

/** The mail server, out of the configuration. @param folder of the configuration file */
export function smtpOptions(config: Config, folder: string): SmtpOptions {
  const { server, from = '' } = inBaseUnits(config.email)
  const { caFile, passwordFile, ...rest } = server
  const at = (path: string): string => (path === '' ? '' : resolve(folder, path))
  return {
    ...{ ...rest, caFile: at(caFile), passwordFile: at(passwordFile) },
    name: from.slice(from.lastIndexOf('@') + 1),
  }
}

/** The maildir, out of the configuration; undefined for none. */
export const maildirFolder = (config: Config, folder: string): string | undefined =>
  config.email.inbox.folder === '' ? undefined : resolve(folder, config.email.inbox.folder)
