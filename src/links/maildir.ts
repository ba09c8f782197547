import { createHash } from 'node:crypto'
import { lstat, readdir, readFile, rename } from 'node:fs/promises'
import { join } from 'node:path'
import PostalMime, { type Address, type Email } from 'postal-mime'
import type { IncomingMail, LookForMail, Taken } from '../node/email/carrier.js'
import { errorText } from '../runtime/errorText.js'

export interface MaildirOptions {
  /** with new/ and cur/ in it */
  readonly folder: string
  readonly onFault: (reason: string) => void
}

/** Looked at in one go; the rest waits for the next. */
const filesAtOnce = 50
/** A mail of some lines is no larger, and a board reads it whole. */
const octetsMax = 1_000_000

/**
 * Mail out of a maildir. What was looked at goes from new/ to cur/ as seen, as any program that reads a maildir does it (the
 * layout is D. J. Bernstein's, common practice; from memory).
 */
export function maildir({ folder, onFault }: MaildirOptions): LookForMail {
  let told = ''
  /** once for each trouble: it is looked at again and again */
  const tell = (reason: string): void => {
    if (reason !== told) onFault(reason)
    told = reason
  }
  return async (take) => {
    let names: string[]
    try {
      names = (await readdir(join(folder, 'new'))).filter((name) => !name.startsWith('.'))
    } catch (error) {
      tell(`${folder}: ${errorText(error)}`)
      return
    }
    let trouble = ''
    for (const name of names.sort().slice(0, filesAtOnce)) {
      try {
        const taken = await takeFile(join(folder, 'new', name), take)
        if (taken.kind === 'later') trouble = `${name} is left where it is: ${taken.reason}`
        else await rename(join(folder, 'new', name), join(folder, 'cur', `${name}:2,S`))
      } catch (error) {
        trouble = `${name}: ${errorText(error)}`
      }
    }
    if (trouble === '') told = ''
    else tell(`${folder}: ${trouble}`)
  }
}

/** @returns what became of it; what is no mail, or too large, is refused */
async function takeFile(file: string, take: Parameters<LookForMail>[0]): Promise<Taken> {
  const stats = await lstat(file)
  // A pipe would be read for ever.
  if (!stats.isFile()) return { kind: 'later', reason: 'it is no file' }
  if (stats.size > octetsMax)
    return take({ ...noMail, subject: `a mail of ${stats.size} octets` }, '')
  const octets = await readFile(file)
  const { mail, key } = await readMail(octets)
  return take(mail, key)
}

const noMail: IncomingMail = {
  ...{ messageId: undefined, references: [], from: '', to: [], subject: '', text: '' },
  ...{ automatic: false, returned: [] },
}

/** A mail in Internet message format, as far as it matters here. @returns with it a key that is the same for each copy of it */
async function readMail(octets: Buffer): Promise<{ mail: IncomingMail; key: string }> {
  const email = await PostalMime.parse(octets, parserLimits)
  const header = (name: string): string[] =>
    email.headers.filter(({ key }) => key === name).map(({ value }) => value.trim())
  const isReport =
    header('return-path').includes('<>') ||
    header('content-type').some((one) => /^multipart\/report\b/i.test(one))
  const { messageId } = email
  const from = mailboxesOf(email.from)[0] ?? ''
  return {
    key: createHash('sha256')
      .update(messageId === undefined ? octets : `${messageId} ${from.toLowerCase()}`)
      .digest('hex'),
    mail: {
      ...{ messageId: messageId?.slice(0, idCharactersMax), from },
      references: idsIn(`${email.inReplyTo ?? ''} ${email.references ?? ''}`),
      to: receiversOf(email, header),
      subject: (email.subject ?? '').slice(0, 200),
      text: (email.text ?? '').slice(0, textCharactersMax),
      automatic: isReport || isByMachine(header),
      returned: isReport ? ownIdsIn(octets.toString('latin1')) : [],
    },
  }
}

const parserLimits = {
  ...{ forceRfc822Attachments: true, maxNestingDepth: 20, maxHeadersSize: 200_000 },
}
const idCharactersMax = 1_000
const idsMax = 50
/** Of this some messages are made. */
const textCharactersMax = 20_000

const mailboxesOf = (...addresses: readonly (Address | undefined)[]): string[] =>
  addresses.flatMap((one) =>
    one === undefined ? [] : one.group === undefined ? [one.address] : mailboxesOf(...one.group),
  )

/** Also as the servers on its way noted it: a letter to many names each of them nowhere else. */
const receiversOf = (email: Email, header: (name: string) => string[]): string[] =>
  [
    ...header('delivered-to'),
    ...header('x-original-to'),
    ...mailboxesOf(...(email.to ?? []), ...(email.cc ?? [])),
  ]
    .map((one) => one.replace(/^<|>$/g, ''))
    .slice(0, 100)

/** RFC 3834, section 2, and RFC 2919; Precedence is common practice, no source. */
const isByMachine = (header: (name: string) => string[]): boolean =>
  header('auto-submitted').some((one) => !/^no\b/i.test(one)) ||
  header('precedence').some((one) => /^(bulk|junk|list)\b/i.test(one)) ||
  header('list-id').length > 0

const idsIn = (text: string): string[] => (text.match(/<[^<>\s]{3,500}>/g) ?? []).slice(0, idsMax)

/** Message-IDs as this program makes them. */
const ownIdsIn = (text: string): string[] =>
  (text.match(/<[A-Za-z0-9-]{1,60}\.radio@[A-Za-z0-9.-]{1,253}>/g) ?? []).slice(0, idsMax)
