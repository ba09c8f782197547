import { readFile } from 'node:fs/promises'
import { formatMessage } from '../../aprs/format.js'
import { type Address, parseAddress } from '../../ax25/address.js'
import { encodeFrame, uiFrame } from '../../ax25/frame.js'
import { parseLine } from '../../ax25/line.js'
import type { Edges } from '../../devices/edges.js'
import { personDestination } from '../../node/options.js'
import { errorText } from '../../runtime/errorText.js'
import { Failure } from '../../runtime/failure.js'
import { UsageError } from '../shared/usageError.js'

/** Where encode's frames come from. */
export interface EncodeRequest {
  readonly input?: string
  readonly from?: string
  readonly to?: string
  readonly message?: string
  readonly number?: string
  readonly path?: string
}

/**
 * The frames of lines, of a file, of standard input, or the one of a message.
 * @returns each without FCS, at least one
 * @throws UsageError for what the command line got wrong; Failure 'encode-lines' that names each wrong line of an input
 */
export async function readFrames(
  edges: Edges,
  lines: readonly string[],
  request: EncodeRequest,
): Promise<Uint8Array[]> {
  const sources = [lines.length > 0, request.input !== undefined, isMessage(request)]
  if (sources.filter(Boolean).length > 1)
    throw new UsageError({
      code: 'encode-sources',
      subject: 'encode',
      got: 'frames from more than one place',
      expected: 'lines, or --input, or --from, --to and --message',
    })
  if (isMessage(request)) return [messageFrame(request)]
  if (lines.length > 0) return framesOfLines(lines, 'line')
  if (request.input !== undefined && request.input !== '-')
    return framesOfText(await readInput(request.input), request.input)
  return framesOfText(await readAll(edges.stdin), 'standard input')
}

const isMessage = (request: EncodeRequest): boolean =>
  [request.from, request.to, request.message, request.number, request.path].some(
    (value) => value !== undefined,
  )

function messageFrame(request: EncodeRequest): Uint8Array {
  const { from, to, message, number, path = '' } = request
  if (from === undefined || to === undefined || message === undefined)
    throw new UsageError({
      code: 'encode-message',
      subject: 'encode',
      got: 'a part of a message',
      expected: '--from, --to and --message',
    })
  const digipeaters = path.split(',').filter((name) => name.trim() !== '')
  const source = addressOf('--from', from)
  const destination = addressOf('', personDestination)
  const addresses = digipeaters.map((name) => addressOf('--path', name.trim()))
  try {
    const parts = { addressee: to.toUpperCase(), text: message }
    const payload = formatMessage(number === undefined ? parts : { ...parts, number })
    return encodeFrame(uiFrame({ source, destination, path: addresses, payload }))
  } catch (error) {
    if (!(error instanceof RangeError)) throw error
    throw new UsageError({
      code: 'encode-message',
      subject: '--message',
      got: error.message,
      expected: 'a message that fits the format',
    })
  }
}

function addressOf(option: string, text: string): Address {
  const address = parseAddress(text)
  if (address.ok) return address.value
  throw new UsageError({
    code: 'encode-address',
    subject: option,
    got: JSON.stringify(text),
    expected: 'a call sign of 1 to 6 letters and digits, and an SSID from 0 to 15 behind a hyphen',
  })
}

function framesOfText(text: string, name: string): Uint8Array[] {
  const frames = framesOfLines(text.split(/\r?\n/), name)
  if (frames.length > 0) return frames
  throw new Failure({
    code: 'encode-lines',
    subject: name,
    got: 'no frame',
    expected: 'one a line: FROM>TO,PATH*:payload',
  })
}

/** All wrong lines are told at once, and nothing is made then: half a file would be taken for the whole. */
function framesOfLines(lines: readonly string[], name: string): Uint8Array[] {
  const problems: string[] = []
  const frames: Uint8Array[] = []
  for (const [index, line] of lines.entries()) {
    if (line.trim() === '' || line.startsWith('#')) continue
    const frame = frameOfLine(line)
    if (frame instanceof Uint8Array) frames.push(frame)
    else problems.push(`${name} ${index + 1}: ${frame}`)
  }
  if (problems.length === 0) return frames
  const told = problems.slice(0, 20)
  if (problems.length > told.length) told.push(`and ${problems.length - told.length} more`)
  throw new (name === 'line' ? UsageError : Failure)({
    code: 'encode-lines',
    subject: 'encode',
    got: told.join('\n  '),
    expected: 'FROM>TO,PATH*:payload',
  })
}

/** @returns the frame, or what is wrong with the line */
function frameOfLine(line: string): Uint8Array | string {
  // Lenient: what decode wrote of an odd frame must come back.
  const parsed = parseLine(line, { strict: false })
  if (!parsed.ok) return parsed.reason
  try {
    return encodeFrame(parsed.frame)
  } catch (error) {
    if (error instanceof RangeError) return error.message
    throw error
  }
}

async function readInput(file: string): Promise<string> {
  try {
    return await readFile(file, 'utf8')
  } catch (cause) {
    throw new Failure({
      code: 'encode-input',
      subject: file,
      problem: `cannot be read: ${errorText(cause)}`,
      cause,
    })
  }
}

async function readAll(stream: NodeJS.ReadableStream): Promise<string> {
  const chunks: Buffer[] = []
  for await (const chunk of stream) chunks.push(Buffer.from(chunk))
  return Buffer.concat(chunks).toString('utf8')
}
