import { parseTelemetryDefinition } from './telemetry.js'
import { readText } from './text.js'
import { type AprsPayload, type BulletinPayload, type MessagePayload, unreadable } from './types.js'

/*
 * Everything that begins with `:` (ch. 14): messages, acknowledgements, rejections, bulletins,
 * directed queries and telemetry definitions. 1.0.1 forbids `|`, `~` and `{` in message text, 1.2
 * only `{`: any of them is taken, none but text without all three is sent.
 */

export const addresseeLength = 9

/** Reads a message, from the `:` on. */
export function parseMessage(text: string): AprsPayload {
  if (text[addresseeLength + 1] !== ':') {
    return unreadable('message without nine characters of addressee and a colon after them')
  }
  const addressee = text.slice(1, addresseeLength + 1).trimEnd()
  if (!/^[!-~][ -~]*$/.test(addressee)) return unreadable('message without addressee')
  const body = text.slice(addresseeLength + 2)
  if (/^BLN[0-9A-Z]/.test(addressee)) return readBulletin(addressee, body)
  if (/^(?:NWS|SKY|CWA|BOM)[-_]/.test(addressee)) return readWeatherBulletin(addressee, body)
  const definition = parseTelemetryDefinition(addressee, body)
  if (definition !== undefined) return definition
  if (directedQueryForm.test(body)) return readDirectedQuery(addressee, body)
  const answer = /^(ack|rej)(([A-Za-z0-9]{1,5})(?:\}[A-Za-z0-9]{0,5})?)\s*$/.exec(body)
  if (answer !== null) {
    const kind = answer[1] === 'ack' ? 'acknowledgement' : 'rejection'
    return { kind, addressee, number: answer[3]!, numberAsSent: answer[2]! }
  }
  return readMessage(addressee, body)
}

/** Addressees that everybody reads and nobody acknowledges (ch. 14). */
export function isGroupAddressee(addressee: string): boolean {
  return /^(?:ALL|QST|CQ)$/.test(addressee)
}

function readMessage(addressee: string, body: string): MessagePayload {
  const brace = body.lastIndexOf('{')
  const base = { kind: 'message', addressee } as const
  if (brace < 0) return { ...base, text: readText(body) }
  const numberAsSent = body.slice(brace + 1).trimEnd()
  // Reply-acknowledgement, December 1999: {MM}AA is message MM, and acknowledges AA.
  const parts = /^([A-Za-z0-9]{1,5})(?:\}([A-Za-z0-9]{0,5}))?$/.exec(numberAsSent)
  if (parts === null) {
    const wanted = 'a message number of 1 to 5 letters and digits'
    const problem = `'${readText(numberAsSent)}' is not ${wanted}`
    return { ...base, text: readText(body), problem }
  }
  return {
    ...base,
    text: readText(body.slice(0, brace)),
    number: parts[1]!,
    ...(parts[2] === undefined ? {} : { replyAcknowledges: parts[2] }),
    numberAsSent,
  }
}

function readBulletin(addressee: string, body: string): BulletinPayload {
  const id = addressee[3]!
  const group = addressee.slice(4).trim()
  const base = { kind: 'bulletin', addressee, id, text: readText(body) } as const
  if (group !== '') return { ...base, bulletinKind: 'group', group }
  return { ...base, bulletinKind: /\d/.test(id) ? 'bulletin' : 'announcement' }
}

function readWeatherBulletin(addressee: string, body: string): BulletinPayload {
  // the reference is printable and last: the first brace of such an end begins it
  const end = printableEnd(body)
  const brace = body.indexOf('{', end)
  return {
    kind: 'bulletin',
    bulletinKind: 'weather service',
    addressee,
    id: addressee.slice(4),
    text: readText(brace === -1 ? body : body.slice(0, brace)),
    ...(brace === -1 ? {} : { reference: body.slice(brace + 1) }),
  }
}

/** Where the printable characters begin that a text ends with. */
function printableEnd(text: string): number {
  let at = text.length
  while (at > 0 && /[!-~]/.test(text[at - 1]!)) at--
  return at
}

/** Queries that ch. 15 knows; `?` before any other word is a person's question, and a message. */
const directedQueryForm = /^\?(?:APRS[A-Z]|PING\?|(?:APRS|IGATE|WX)\?)/i

function readDirectedQuery(addressee: string, body: string): AprsPayload {
  const numbered = /^(.*)\{([A-Za-z0-9]{1,5}(?:\}[A-Za-z0-9]{0,5})?)\s*$/s.exec(body)
  const words = numbered === null ? body : numbered[1]!
  const named = /^\?(APRS[A-Za-z])\s*(\S*)|^\?([A-Za-z]+)\??\s*(\S*)/i.exec(words)!
  const target = readText(named[2] ?? named[4] ?? '').toUpperCase()
  return {
    kind: 'directedQuery',
    addressee,
    query: (named[1] ?? named[3])!.toUpperCase(),
    ...(target === '' ? {} : { target }),
    ...(numbered === null ? {} : { numberAsSent: numbered[2]! }),
  }
}
