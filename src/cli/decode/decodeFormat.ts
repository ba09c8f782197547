import { causeTexts } from '../../../dsp/causes/causeWords.js'
import type { FrameCode } from '../../../dsp/modem/detector.js'
import type { ReceivedFrame, SignalQuality } from '../../../dsp/modem/receivedFrame.js'
import { describePayload } from '../../aprs/describe.js'
import { parsePayload } from '../../aprs/parse.js'
import { formatAddress } from '../../ax25/address.js'
import { type Ax25Frame, decodeFrame } from '../../ax25/frame.js'
import { formatLine } from '../../ax25/line.js'
import { pidNoLayer3, protocolNames } from '../../ax25/protocol.js'
import { keyDelayAdvice } from '../../radio/keyDelay.js'
import { harmlessJson, harmlessText } from '../../runtime/harmlessText.js'
import {
  type ChannelSummary,
  causeCounts,
  type FoundLoss,
  lossText,
  summaryLine,
} from './explanation.js'

/** A frame and where it was found. */
export interface FoundFrame {
  readonly file: string
  readonly channel: number
  readonly sampleRateHz: number
  readonly received: ReceivedFrame
}

/** What is known of a recording before it is read. */
export interface RecordingHead {
  readonly name: string
  readonly sampleRateHz: number
  readonly channelCount: number
  /** undefined on a stream without a stated end */
  readonly durationS: number | undefined
}

/** One layout of decode's output; every piece of text brings its own line ends. */
export interface FrameFormat {
  /** in front of the frames of each recording */
  heading(recording: RecordingHead): string
  frame(found: FoundFrame): string
  /** a signal that was not read, and why; told where that is asked for */
  lost(found: FoundLoss): string
  /** of each channel, likewise */
  summary(summary: ChannelSummary): string
  /** behind the frames of each recording that was read to its end */
  ending(frameCount: number): string
}

export interface FormatOptions {
  /** width of the terminal; undefined for a file or a pipe, where every frame is one line */
  readonly columns: number | undefined
  /** Eb/N0, offset and raw text are shown, too */
  readonly explains?: boolean
  /** when a recording began; else times count from its start */
  readonly startWallMs?: number | undefined
}

export const formatNames = ['human', 'json', 'line'] as const
export type FormatName = (typeof formatNames)[number]

export function frameFormat(name: FormatName, options: FormatOptions): FrameFormat {
  const silent = () => ''
  switch (name) {
    case 'json':
      return { heading: silent, ...jsonLines(options), ending: silent }
    case 'line':
      return { heading: silent, ...noteLines(options), ending: silent }
    case 'human':
      return humanFormat(options)
  }
}

/** When something was, for a person: of the day in UTC where the start is known. */
function timeText(atS: number, startWallMs: number | undefined): string {
  if (startWallMs === undefined) return clockText(atS, 2)
  return new Date(startWallMs + Math.round(atS * 100) * 10).toISOString().slice(11, 22)
}

const utcOf = (atS: number, startWallMs: number | undefined) =>
  startWallMs === undefined ? {} : { utc: new Date(startWallMs + 1000 * atS).toISOString() }

const jsonLines = ({ startWallMs }: FormatOptions) => ({
  frame: (found: FoundFrame): string => jsonLine(found, startWallMs),
  lost({ file, channel, sampleRateHz, lost }: FoundLoss): string {
    const timeS = lost.firstSample / sampleRateHz
    const json = JSON.stringify({
      ...{ file, channel, timeS: rounded(timeS, 4), ...utcOf(timeS, startWallMs) },
      lost: causeTexts(lost.causes).join('; '),
      durationS: rounded((lost.lastSample - lost.firstSample) / sampleRateHz, 4),
      causes: lost.causes,
      quality: {
        levelDbfs: rounded(lost.levelDbfs, 2),
        toneBalanceDb: rounded(lost.toneBalanceDb, 2),
        toneOffsetHz: rounded(lost.toneOffsetHz, 1),
        symbolRateErrorPpm: rounded(lost.symbolRateErrorPpm, 0),
        ebN0Db: rounded(lost.ebN0Db, 2),
        clippedShare: rounded(lost.clippedShare, 4),
        preambleFlags: lost.preambleFlags,
      },
    })
    return `${harmlessJson(json)}\n`
  },
  summary(summary: ChannelSummary): string {
    const { file, channel, readCount, repairedCount, losses, sound } = summary
    const json = JSON.stringify({
      ...{ file, channel, summary: summaryLine(summary), readCount, repairedCount },
      ...{ lostCount: losses.length, causes: Object.fromEntries(causeCounts(losses)), sound },
    })
    return `${harmlessJson(json)}\n`
  },
})

/** What is no frame is a remark, which encode passes over. */
const noteLines = ({ startWallMs }: FormatOptions) => ({
  frame: noteLine,
  lost: (found: FoundLoss): string =>
    `# ${timeText(found.lost.firstSample / found.sampleRateHz, startWallMs)} ${lossText(found)}\n`,
  summary: (summary: ChannelSummary): string =>
    `# ${harmlessText(`${summary.file}, channel ${summary.channel}: ${summaryLine(summary)}`)}\n`,
})

/**
 * One JSON object. Other programs rely on its keys: none is ever left out; what a frame does not say is null, an empty
 * list or an empty text.
 */
function jsonLine(
  { file, channel, sampleRateHz, received }: FoundFrame,
  startWallMs: number | undefined,
): string {
  const decoded = decodeFrame(received.octets)
  const frame = decoded.ok ? decoded.frame : undefined
  const { quality } = received
  const json = JSON.stringify({
    file,
    channel,
    timeS: rounded(received.firstSample / sampleRateHz, 4),
    ...utcOf(received.firstSample / sampleRateHz, startWallMs),
    octets: Buffer.from(received.octets).toString('hex'),
    source: frame ? formatAddress(frame.source) : null,
    destination: frame ? formatAddress(frame.destination) : null,
    path: (frame?.path ?? []).map(({ address, repeated }) => ({
      call: formatAddress(address),
      repeated,
    })),
    control: frame?.controlOctets[0] ?? null,
    pid: frame?.pid ?? null,
    payload: frame ? payloadText(frame.payload) : '',
    repairedBits: received.repairedBits,
    code: received.code?.kind ?? null,
    correctedOctets: received.code?.correctedOctets ?? null,
    copies: received.copies ?? 1,
    detector: received.detector,
    quality: {
      levelDbfs: rounded(quality.levelDbfs, 2),
      toneBalanceDb: rounded(quality.toneBalanceDb, 2),
      toneOffsetHz: quality.bitRate === 9600 ? null : rounded(quality.toneOffsetHz, 1),
      symbolRateErrorPpm: rounded(quality.symbolRateErrorPpm, 0),
      ebN0Db: rounded(quality.ebN0Db, 2),
      eyeOpening: rounded(quality.eyeOpening, 3),
      clippedShare: rounded(quality.clippedShare, 4),
      preambleFlags: quality.preambleFlags,
    },
  })
  return `${harmlessJson(json)}\n`
}

/** UTF-8 where it is that, else each octet as the character of its number (Latin-1); `octets` has them untouched. */
function payloadText(payload: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(payload)
  } catch {
    return Buffer.from(payload).toString('latin1')
  }
}

/** FROM>TO,PATH*:payload; a frame that cannot be written so becomes a remark, which encode passes over. */
function noteLine({ received }: FoundFrame): string {
  const decoded = decodeFrame(received.octets)
  if (decoded.ok) return `${formatLine(decoded.frame)}\n`
  return `# ${Buffer.from(received.octets).toString('hex')} (${harmlessText(decoded.reason)})\n`
}

type Measured = Pick<SignalQuality, 'levelDbfs' | 'toneBalanceDb' | 'ebN0Db' | 'toneOffsetHz'> & {
  readonly channel: number
  readonly atS: number
}

/** The payload as it came, beside the words made of it. */
function rawText(octets: Uint8Array): string {
  const decoded = decodeFrame(octets)
  if (!decoded.ok || decoded.frame.payload.length === 0) return ''
  return ` | raw: ${JSON.stringify(harmlessText(payloadText(decoded.frame.payload)))}`
}

function humanFormat({ columns, explains, startWallMs }: FormatOptions): FrameFormat {
  let hasChannels = false
  let isTitled = false
  const row = (cells: readonly string[], text: string): string => {
    const front = `${cells.join('  ')}  `
    return `${front}${wrapped(text, columns, front.length)}\n`
  }
  const timeWidth = startWallMs === undefined ? 9 : 11
  const titles = (): string[] => [
    (startWallMs === undefined ? 'time' : 'UTC').padStart(timeWidth),
    ...(hasChannels ? ['ch.'] : []),
    ...[' dBFS', 'bal dB', ...(explains === true ? [' Eb/N0', 'offset'] : [])],
  ]
  const line = (measured: Measured, text: string): string => {
    const { channel, atS, levelDbfs, toneBalanceDb, ebN0Db, toneOffsetHz } = measured
    const title = isTitled ? '' : row(titles(), 'from > to via path: what it says')
    isTitled = true
    const offset = Math.round(toneOffsetHz)
    const cells = [
      timeText(atS, startWallMs).padStart(timeWidth),
      ...(hasChannels ? [String(channel).padStart(3)] : []),
      levelDbfs.toFixed(1).padStart(5),
      signed(toneBalanceDb).padStart(6),
      ...(explains === true
        ? [
            `${ebN0Db.toFixed(0)} dB`.padStart(6),
            `${offset < 0 ? '' : '+'}${offset + 0}Hz`.padStart(6),
          ]
        : []),
    ]
    return `${title}${row(cells, text)}`
  }
  return {
    heading({ name, sampleRateHz, channelCount, durationS }) {
      hasChannels = channelCount > 1
      isTitled = false
      const length = durationS === undefined ? '' : `, ${clockText(durationS, 0)}`
      const channels = channelCount === 1 ? 'mono' : `${channelCount} channels`
      return `${harmlessText(name)}  (${sampleRateHz} Hz, ${channels}${length})\n`
    },
    frame({ channel, sampleRateHz, received }) {
      const { repairedBits, octets, copies = 1 } = received
      const bits = repairedBits === 1 ? '1 bit' : `${repairedBits} bits`
      const repair = repairedBits === 0 ? '' : ` [${bits} repaired]`
      const joined = copies > 1 ? ` [out of ${copies} copies]` : repair
      const notes = joined + codeWords(received.code) + adviceOn(received)
      const raw = explains === true ? rawText(octets) : ''
      return line(
        { channel, atS: received.firstSample / sampleRateHz, ...received.quality },
        frameWords(octets) + notes + raw,
      )
    },
    lost(found) {
      const { channel, sampleRateHz, lost } = found
      return line({ channel, atS: lost.firstSample / sampleRateHz, ...lost }, lossText(found))
    },
    summary: (summary) =>
      `${' '.repeat(11)}${hasChannels ? `channel ${summary.channel}: ` : ''}${summaryLine(summary)}\n`,
    ending: (frameCount) => (frameCount === 0 ? `${' '.repeat(5)}no frames\n` : ''),
  }
}

/** The forward error correction that a frame came with, and what that did. */
export function codeWords(code: FrameCode | undefined): string {
  if (code === undefined) return ''
  const { kind, correctedOctets } = code
  if (correctedOctets === 0) return ` [${kind}]`
  return ` [${kind}, ${correctedOctets} ${correctedOctets === 1 ? 'octet' : 'octets'} corrected]`
}

/** To the sender of a frame that was sent to find the key delay. */
function adviceOn({ octets, quality }: ReceivedFrame): string {
  const decoded = decodeFrame(octets)
  const advice = decoded.ok ? keyDelayAdvice(decoded.frame.payload, quality) : undefined
  return advice === undefined ? '' : ` [${advice}]`
}

/** From, to, path and content in words; safe on a terminal. */
export function frameWords(octets: Uint8Array): string {
  const decoded = decodeFrame(octets)
  if (!decoded.ok)
    return `${octets.length} octets that are not a frame (${decoded.reason}): ${Buffer.from(octets).toString('hex')}`
  const { source, destination, path } = decoded.frame
  const last = path.findLastIndex(({ repeated }) => repeated)
  const via = path.map(({ address }, index) => formatAddress(address) + (index === last ? '*' : ''))
  const route = via.length === 0 ? '' : ` via ${via.join(', ')}`
  return harmlessText(
    `${formatAddress(source)} > ${formatAddress(destination)}${route}: ${contentWords(decoded.frame)}`,
  )
}

function contentWords(frame: Ax25Frame): string {
  const { control, pid, payload } = frame
  if (control.type === 'UI' && pid === pidNoLayer3) {
    const content = parsePayload(payload, formatAddress(frame.destination))
    if (content.kind !== 'unreadable') return describePayload(content)
    return payload.length === 0 ? 'nothing' : `text "${payloadText(payload).trimEnd()}"`
  }
  const sequence =
    control.type === 'I'
      ? `I ${control.sendSequence}, expects ${control.receiveSequence}`
      : control.type === 'S'
        ? `${control.name} ${control.receiveSequence}`
        : control.type === 'U'
          ? control.name === 'unknown'
            ? `U frame ${frame.controlOctets[0]!.toString(16)}`
            : control.name
          : 'UI'
  const poll = control.pollFinal ? (frame.command === 'response' ? ', final' : ', poll') : ''
  const protocol =
    pid === undefined || pid === pidNoLayer3
      ? ''
      : `, ${protocolNames[pid] ?? `protocol ${pid.toString(16).padStart(2, '0')}`}`
  const text = payload.length === 0 ? '' : `: "${payloadText(payload).trimEnd()}"`
  return `${sequence}${poll}${protocol}${text}`
}

/** On a terminal, words that do not fit go on below, in step; elsewhere a frame is one line. */
function wrapped(text: string, columns: number | undefined, indent: number): string {
  const width = (columns ?? 0) - indent
  if (width < 20) return text
  const lines: string[] = []
  let line = ''
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + 1 + word.length > width) {
      lines.push(line)
      line = word
    } else line = line === '' ? word : `${line} ${word}`
    if (line.length > width) {
      const characters = [...line]
      while (characters.length > width) lines.push(characters.splice(0, width).join(''))
      line = characters.join('')
    }
  }
  return [...lines, line].join(`\n${' '.repeat(indent)}`)
}

/** 1:02:03.45, or 2:03.45 below an hour. */
export function clockText(seconds: number, digits: number): string {
  const whole = Math.floor(rounded(seconds, digits))
  const hours = Math.floor(whole / 3600)
  const minutes = Math.floor((whole % 3600) / 60)
  const rest = (rounded(seconds, digits) - 60 * Math.floor(whole / 60)).toFixed(digits)
  const padded = rest.padStart(digits === 0 ? 2 : digits + 3, '0')
  return hours === 0
    ? `${minutes}:${padded}`
    : `${hours}:${String(minutes).padStart(2, '0')}:${padded}`
}

const signed = (value: number): string => {
  const shown = rounded(value, 1)
  return (shown < 0 ? '' : '+') + shown.toFixed(1)
}

/** Rounded for reading; JSON has no word for what is not finite. */
function rounded(value: number, digits: number): number {
  const scale = 10 ** digits
  return Math.round(value * scale) / scale + 0
}
