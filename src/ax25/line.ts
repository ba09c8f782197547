/*
 * One frame, one line: FROM>TO,PATH*:payload, the notation of third-party headers in the APRS
 * reference. The `*` marks the last digipeater that has repeated the frame; those in front of it
 * have repeated it too.
 *
 * Octets outside printable ASCII are written as in percent-encoding (RFC 3986, 2.1): % and two hex
 * digits. A % that happens to stand before two hex digits is written %25; any other % stands for
 * itself, so that ordinary text stays as it was. In call signs everything but letters and digits is
 * written that way; a space inside one stays.
 *
 * The notation has no place for anything but a UI frame without a layer 3 protocol. Other frames
 * carry their control octets (hex), PID and command bits in braces in front of the colon:
 * FROM>TO{control=3f}: FROM>TO{control=73,response}: C bits of UI frames, reserved bits and H bits
 * out of order do not come back from a line.
 */
import type { Address, PathEntry } from './address.js'
import { controlOctetCount, decodeControl } from './control.js'
import { type Ax25Frame, type CommandBits, type DecodedFrame, digipeaterCountMax } from './frame.js'
import { pidEscape, pidNoLayer3 } from './protocol.js'
import { bad, good, type Result } from './result.js'

/** Writes a frame as a line without line end; only printable ASCII. */
export function formatLine(frame: Ax25Frame): string {
  return `${formatHeader(frame)}:${escapeOctets(frame.payload)}`
}

/** The part of a line in front of the colon. */
function formatHeader(frame: Ax25Frame): string {
  const lastRepeated = frame.path.findLastIndex((entry) => entry.repeated)
  const path = frame.path.map(
    (entry, index) => `,${escapeAddress(entry.address)}${index === lastRepeated ? '*' : ''}`,
  )
  const addresses = `${escapeAddress(frame.source)}>${escapeAddress(frame.destination)}`
  return addresses + path.join('') + formatBraces(frame)
}

/**
 * Reads a line as formatLine writes it. Lower-case call signs are taken as upper case.
 * @param options.strict true (the default) refuses call signs that the standard does not allow,
 *   and more than 8 digipeaters; false takes back what formatLine wrote of an odd frame that was
 *   heard
 */
export function parseLine(text: string, options: { readonly strict?: boolean } = {}): DecodedFrame {
  const strict = options.strict ?? true
  const colon = text.indexOf(':')
  if (colon < 0) return bad("no ':' between the addresses and the payload")
  const header = /^([^>{]*)>([^{]*)(?:\{([^}]*)\})?$/.exec(text.slice(0, colon))
  if (header === null) return bad("expected FROM>TO or FROM>TO,PATH in front of the ':'")
  const source = readAddress(header[1]!, strict)
  if (!source.ok) return source
  const [first, ...names] = header[2]!.split(',')
  const destination = readAddress(first!, strict)
  if (!destination.ok) return destination
  const path = readPath(names, strict)
  if (!path.ok) return path
  const braces = readBraces(header[3])
  if (!braces.ok) return braces
  return {
    ok: true,
    frame: {
      destination: destination.value,
      source: source.value,
      path: path.value,
      ...braces.value,
      payload: unescapeOctets(text.slice(colon + 1)),
    },
  }
}

/** Printable ASCII as it is, everything else reversibly as %HH. */
export function escapeOctets(octets: Uint8Array): string {
  let text = ''
  for (let at = 0; at < octets.length; at++) {
    const octet = octets[at]!
    const plain =
      octet === percent
        ? !(isHexDigit(octets[at + 1]) && isHexDigit(octets[at + 2]))
        : octet >= 0x20 && octet < 0x7f
    text += plain ? String.fromCharCode(octet) : escapeOctet(octet)
  }
  return text
}

/** Takes back what escapeOctets wrote; characters outside ASCII become their UTF-8 octets. */
export function unescapeOctets(text: string): Uint8Array {
  const octets: number[] = []
  for (let at = 0; at < text.length; at++) {
    const escaped = /^%[0-9A-Fa-f]{2}/.exec(text.slice(at, at + 3))
    if (escaped !== null) {
      octets.push(Number.parseInt(text.slice(at + 1, at + 3), 16))
      at += 2
      continue
    }
    const character = String.fromCodePoint(text.codePointAt(at)!)
    if (character.length === 1 && character.charCodeAt(0) < 0x80) {
      octets.push(character.charCodeAt(0))
    } else {
      octets.push(...new TextEncoder().encode(character))
      at += character.length - 1
    }
  }
  return Uint8Array.from(octets)
}

const percent = 0x25

const escapeOctet = (octet: number): string =>
  `%${octet.toString(16).toUpperCase().padStart(2, '0')}`

function isHexDigit(octet: number | undefined): boolean {
  return octet !== undefined && /[0-9A-Fa-f]/.test(String.fromCharCode(octet))
}

function escapeAddress(address: Address): string {
  // Lower case is escaped as well: it is read back as upper case otherwise.
  const call = address.call
    .replace(/[^A-Z0-9 ]/g, (character) => escapeOctet(character.charCodeAt(0)))
    .replace(/^ +/, (spaces) => '%20'.repeat(spaces.length))
  return address.ssid === 0 ? call : `${call}-${address.ssid}`
}

function readAddress(text: string, strict: boolean): Result<Address> {
  const parts = /^([^-*]*?)(?:-(\d|1[0-5]))?$/.exec(text)
  const call = parts?.[1]
    ?.toUpperCase()
    .replace(/%([0-9A-F]{2})/g, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16)))
  const wanted = strict ? /^[A-Z0-9]{1,6}$/ : /^(?:[\x20-\x7e]{0,5}[\x21-\x7e])?$/
  if (call === undefined || !wanted.test(call)) {
    return bad(`'${text}' is not an address: expected 1 to 6 letters and digits, SSID 0 to 15`)
  }
  return good({ call, ssid: Number(parts![2] ?? '0') })
}

function readPath(names: readonly string[], strict: boolean): Result<PathEntry[]> {
  if (strict && names.length > digipeaterCountMax) {
    return bad(`${names.length} digipeaters: expected at most ${digipeaterCountMax}`)
  }
  const lastRepeated = names.findLastIndex((name) => name.endsWith('*'))
  const path: PathEntry[] = []
  for (const [index, name] of names.entries()) {
    const address = readAddress(name.replace(/\*$/, ''), strict)
    if (!address.ok) return address
    path.push({ address: address.value, repeated: index <= lastRepeated })
  }
  return good(path)
}

type Braces = Pick<Ax25Frame, 'command' | 'control' | 'controlOctets' | 'pid' | 'pidExtension'>

const hexOctet = (octet: number): string => octet.toString(16).padStart(2, '0')

function formatBraces(frame: Ax25Frame): string {
  const { control, controlOctets, pid, pidExtension, command } = frame
  if (control.type === 'UI' && !control.pollFinal && pid === pidNoLayer3) return ''
  const items = [`control=${[...controlOctets].map(hexOctet).join('')}`]
  if (pid !== undefined) items.push(`pid=${hexOctet(pid)}`)
  if (pidExtension !== undefined) items.push(`extension=${hexOctet(pidExtension)}`)
  if (command !== 'command') items.push(command)
  return `{${items.join(',')}}`
}

function readBraces(text: string | undefined): Result<Braces> {
  const parts = bracesForm.exec(text ?? `control=03,pid=${hexOctet(pidNoLayer3)}`)
  if (parts === null) return bad(`'{${text}}' is not understood: expected {control=3f,pid=f0}`)
  const controlOctets = Uint8Array.from(parts[1]!.match(/../g)!, (hex) => Number.parseInt(hex, 16))
  if (controlOctets.length > 1 && controlOctetCount(controlOctets[0]!, 128) === 1) {
    return bad(`control=${parts[1]} is not understood: expected one octet`)
  }
  const pid = parts[2] === undefined ? undefined : Number.parseInt(parts[2], 16)
  const pidExtension = parts[3] === undefined ? undefined : Number.parseInt(parts[3], 16)
  if (pidExtension !== undefined && pid !== pidEscape) return bad('an extension needs pid=ff')
  return good({
    command: (parts[4]?.toLowerCase() ?? 'command') as CommandBits,
    control: decodeControl(controlOctets),
    controlOctets,
    ...(pid === undefined ? {} : { pid }),
    ...(pidExtension === undefined ? {} : { pidExtension }),
  })
}

const bracesForm = new RegExp(
  '^control=((?:[0-9a-f]{2}){1,2})(?:,pid=([0-9a-f]{2}))?(?:,extension=([0-9a-f]{2}))?' +
    '(?:,(command|response|neither|both))?$',
  'i',
)
