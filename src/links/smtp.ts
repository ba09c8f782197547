import { readFileSync } from 'node:fs'
import { Readable } from 'node:stream'
import MimeNode from 'nodemailer/lib/mime-node'
import SMTPConnection from 'nodemailer/lib/smtp-connection'
import type { OutgoingMail, Submitted } from '../node/email/carrier.js'
import { errorText } from '../runtime/errorText.js'
import { harmlessText } from '../runtime/harmlessText.js'

export interface SmtpOptions {
  readonly host: string
  readonly port: number
  /** 'starttls' asks for it and goes on without in no case */
  readonly tls: 'starttls' | 'implicit' | 'none'
  /** '' for the system's authorities */
  readonly caFile: string
  /** '' for no login */
  readonly user: string
  readonly passwordFile: string
  /** without a word from the server */
  readonly timeLimitMs: number
  /** how we name ourselves to the server: a domain */
  readonly name: string
}

/** SMTP submission (RFC 6409): one connection a mail, since a mail is rare on a hill and a link may be gone at any moment. */
export interface SmtpSubmission {
  /** Settles always, within the time limits. */
  submit(mail: OutgoingMail): Promise<Submitted>
  /** Ends what is open, for good. */
  close(): void
}

export function smtpSubmission(options: SmtpOptions): SmtpSubmission {
  const open = new Set<SMTPConnection>()
  let closed = false
  return {
    async submit(mail) {
      if (closed) return { kind: 'no-link', reason: 'the program is ending' }
      let connection: SMTPConnection
      let login: { user: string; pass: string } | undefined
      let message: Buffer
      try {
        login = loginOf(options)
        connection = new SMTPConnection(connectionOptions(options))
      } catch (error) {
        return { kind: 'no-link', reason: errorText(error) }
      }
      try {
        message = await composed(mail)
      } catch (error) {
        return { kind: 'later', reply: errorText(error) }
      }
      open.add(connection)
      try {
        return await dialogue(connection, login, mail, message)
      } finally {
        open.delete(connection)
        connection.close()
      }
    },
    close() {
      closed = true
      for (const connection of open) connection.close()
    },
  }
}

function connectionOptions({ host, port, tls, caFile, timeLimitMs, name }: SmtpOptions) {
  const ca = caFile === '' ? {} : { ca: readFileSync(caFile) }
  return {
    ...{ host, port, name, secure: tls === 'implicit' },
    ...{ requireTLS: tls === 'starttls', ignoreTLS: tls === 'none' },
    // Amateur radio is old and so are its boards; TLS 1.2 is what RFC 8314 asks for at least.
    tls: { ...ca, minVersion: 'TLSv1.2' as const },
    ...{ connectionTimeout: timeLimitMs, greetingTimeout: timeLimitMs, dnsTimeout: timeLimitMs },
    ...{ socketTimeout: timeLimitMs, socketCloseTimeout: 1_000, maxResponseSize: 10_000 },
    allowInternalNetworkInterfaces: true,
  }
}

/** Read for each try: an operator who mends the file need not start the station anew. */
function loginOf({ user, passwordFile }: SmtpOptions): { user: string; pass: string } | undefined {
  if (user === '') return undefined
  const [pass = ''] = readFileSync(passwordFile, 'utf8').split(/\r?\n/)
  return { user, pass }
}

/** The mail in Internet message format, by a library whose headers take no line ends. */
async function composed(mail: OutgoingMail): Promise<Buffer> {
  const node = new MimeNode('text/plain; charset=utf-8')
  node.setHeader('From', { name: mail.fromName, address: mail.from })
  node.setHeader('To', { name: '', address: mail.to })
  node.setHeader('Subject', mail.subject)
  node.setHeader('Message-ID', mail.messageId)
  if (mail.inReplyTo !== undefined) {
    node.setHeader('In-Reply-To', mail.inReplyTo)
    node.setHeader('References', mail.inReplyTo)
  }
  // RFC 3834, section 5: an answer, or written by itself.
  if (mail.automatic)
    node.setHeader(
      'Auto-Submitted',
      mail.inReplyTo === undefined ? 'auto-generated' : 'auto-replied',
    )
  if (mail.dateWallMs !== undefined) node.setHeader('Date', dateText(mail.dateWallMs))
  node.setContent(mail.text.replace(/\r?\n/g, '\r\n'))
  const whole = await node.build()
  return mail.dateWallMs === undefined ? withoutDate(whole) : whole
}

const dateText = (wallMs: number): string => new Date(wallMs).toUTCString().replace('GMT', '+0000')

/** The library adds a date of its own where there is none. */
function withoutDate(message: Buffer): Buffer {
  const text = message.toString('latin1')
  const end = text.indexOf('\r\n\r\n')
  const head = `\r\n${text.slice(0, end)}`.replace(/\r\nDate: [^\r\n]*/, '').slice(2)
  return Buffer.from(head + text.slice(end), 'latin1')
}

interface SmtpError {
  readonly code?: string
  /** of the system or of TLS, where `code` is the library's */
  readonly originalCode?: string
  readonly responseCode?: number
  readonly response?: string
  readonly command?: string
}

/** Connects, logs in, hands it over. What was handed over and not replied to is unsure. */
function dialogue(
  connection: SMTPConnection,
  login: { user: string; pass: string } | undefined,
  mail: OutgoingMail,
  message: Buffer,
): Promise<Submitted> {
  return new Promise((resolve) => {
    let handedOver = false
    const fail = (error: unknown): void => resolve(outcomeOf(error as SmtpError, handedOver))
    // It is told both here and to whoever waits; the first counts.
    connection.on('error', fail)
    connection.once('end', () => fail({ code: 'ECONNECTION' }))

    const send = (): void => {
      const body = Readable.from([message])
      // After its last octet follows the line with the dot, and the server may have that.
      body.once('end', () => {
        handedOver = true
      })
      const envelope = { from: mail.from, to: [mail.to], size: message.length }
      connection.send(envelope, body, (error, info) => {
        if (error) {
          fail(error)
          return
        }
        resolve({ kind: 'accepted', reply: oneLine(info?.response) })
        connection.quit()
      })
    }
    connection.connect((error) => {
      if (error) fail(error)
      else if (login === undefined) send()
      else
        connection.login({ credentials: login }, (refused) => {
          if (refused) fail(refused)
          else send()
        })
    })
  })
}

/** Replies that say something of who we are, and nothing of the mail: RFC 4954, section 6. */
const loginCodes = new Set([530, 534, 535, 538])

function outcomeOf(error: SmtpError, handedOver: boolean): Submitted {
  const { code = '', responseCode = 0, command = '' } = error
  const reply = oneLine(error.response)
  // What the server said to MAIL, RCPT, DATA or to the mail itself is of the mail; 421 is of the connection (RFC 5321, 4.2.2).
  const isOfMail =
    (code === 'EENVELOPE' || code === 'EMESSAGE') &&
    /^(MAIL FROM|RCPT TO|DATA)/.test(command) &&
    !loginCodes.has(responseCode) &&
    responseCode !== 421
  if (isOfMail && responseCode >= 500 && responseCode < 600)
    return { kind: 'refused', code: responseCode, reply }
  if (isOfMail && responseCode >= 400 && responseCode < 500) return { kind: 'later', reply }
  // The size that the server allows was known before a word of the mail went out.
  if (code === 'EMESSAGE' && command === 'MAIL FROM' && responseCode === 0)
    return { kind: 'refused', code: 552, reply: 'larger than the server takes' }
  const isTls = /CERT|TLS|SSL|ALTNAME|VERIFY|ISSUER/.test(error.originalCode ?? '')
  const trouble = troubles[isTls ? 'ETLS' : code] ?? errorText(error)
  const reason = reply === '' ? trouble : reply
  return handedOver && responseCode === 0 ? { kind: 'unsure', reason } : { kind: 'no-link', reason }
}

const troubles: Readonly<Record<string, string>> = {
  ECONNECTION: 'the mail server closed the connection, or cannot be reached',
  ESOCKET: 'the mail server cannot be reached',
  ETIMEDOUT: 'the mail server does not answer in time',
  EDNS: 'the name of the mail server is not found',
  ETLS: 'TLS with the mail server failed: look at its certificate, email.server.tls and caFile',
  EAUTH: 'the mail server refuses the login',
}

const replyCharactersMax = 200
const oneLine = (reply: string | undefined): string =>
  harmlessText((reply ?? '').replace(/\s*[\r\n]+\s*/g, ' ').slice(0, replyCharactersMax))
