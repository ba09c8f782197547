import { describePayload } from '../../aprs/describe.js'
import { parsePayload } from '../../aprs/parse.js'
import { formatAddress } from '../../ax25/address.js'
import type { Control } from '../../ax25/control.js'
import { type DecodedFrame, decodeFrame } from '../../ax25/frame.js'
import { harmlessLines, harmlessText } from '../../runtime/harmlessText.js'
import type { Story } from '../../simulation/story.js'
import { wrapped } from '../shared/finding.js'
import type { StoryNote } from './beside/beside.js'
import type { DemoEnd, Sent } from './demoWorld.js'
import { linkReader } from './linkModulo.js'

/** Tells a scenario as a person would like to read it. */
export interface DemoTelling {
  opening(): string
  /** One transmitted frame, and how it fared. */
  sent(sent: Sent): string
  /** Something that happened beside the air. */
  note(note: StoryNote): string
  ending(end: DemoEnd): string
}

export function demoTelling(story: Story): DemoTelling {
  const node = story.node.call
  const timesSent = new Map<string, number>()
  const links = linkReader()
  const told = (call: string): string => `  ${call.padEnd(10)} ${whatOf(story, call)}`

  return {
    opening: () =>
      [
        story.title,
        '',
        ...[node, ...[...story.other, ...story.station].map(({ call }) => call)].map(told),
        '',
        'Simulated: 1200 baud AFSK over FM with noise; the real receivers and transmit',
        'controllers, on a virtual clock.',
        '',
        '',
      ].join('\n'),
    sent(sent) {
      const key = `${sent.from} ${Buffer.from(sent.octets).toString('hex')}`
      const times = (timesSent.get(key) ?? 0) + 1
      timesSent.set(key, times)
      const time = `${(sent.atMs / 1000).toFixed(1)} s`.padStart(8)
      return harmlessLines(
        `${time}  ${sent.from} ${describeSent(sent.from, links.decode(sent.octets), times, story)}${fateOf(sent, story)}`,
      )
    },
    note: ({ atMs, who, text }) =>
      harmlessLines(
        `${(atMs / 1000).toFixed(1)} s`.padStart(8) +
          `  ${who}:\n${text
            .split('\n')
            .flatMap((line) => wrapped(harmlessText(line), indent))
            .join('\n')}\n`,
      ),
    ending: (end) => endingOf(end, node),
  }
}

/** Under the sender's call; a message of 67 characters in quotes then fits the 80 columns of a terminal. */
const indent = ' '.repeat(10)

const whatOf = (story: Story, call: string): string => {
  if (call === story.node.call) return story.node.what
  const station = [...story.other, ...story.station].find((one) => one.call === call)
  return station === undefined
    ? ''
    : `${station.what};\n${' '.repeat(13)}${station.cnrDb} dB carrier to noise`
}

/** What a frame does, seen from its sender, for the so-manieth time. */
function describeSent(from: string, decoded: DecodedFrame, times: number, story: Story): string {
  const again = times > 1 ? ` (${ordinal(times)} time)` : ''
  if (!decoded.ok) return `sends what is no frame${again}\n`
  const { source, destination, payload, control } = decoded.frame
  const author = formatAddress(source)
  const isClients = story.client.some(({ send }) => send.some((one) => one.from === author))
  if (author !== from && !isClients) return `repeats what ${author} sent${again}\n`
  if (control.type !== 'UI')
    return `to ${formatAddress(destination)}: ${describeLink(control, payload)}\n`
  const content = parsePayload(payload, formatAddress(destination))
  switch (content.kind) {
    case 'message': {
      const number = content.number === undefined ? '' : `, message ${content.number}`
      return `to ${content.addressee}${number}${again}:\n${indent}"${harmlessText(content.text)}"\n`
    }
    case 'acknowledgement':
      return `to ${content.addressee}: message ${content.number} arrived${again}\n`
    default:
      return `to everybody${again}:\n${wrapped(harmlessText(describePayload(content)), indent).join('\n')}\n`
  }
}

/** A frame of a connection: what it does, and what it carries. */
function describeLink(control: Control, payload: Uint8Array): string {
  if (control.type === 'U') return linkWords[control.name] ?? control.name
  if (control.type === 'S') return `${control.name}, expects ${control.receiveSequence}`
  if (control.type !== 'I') return control.type
  const text = new TextDecoder().decode(payload).replaceAll('\r', ' / ')
  const shown = wrapped(`"${harmlessText(text)}"`, indent).join('\n')
  return `text ${control.sendSequence}:\n${shown}`
}

const linkWords: Readonly<Record<string, string>> = {
  SABM: 'SABM, asks for a connection',
  SABME: 'SABME, asks for a connection that counts to 128',
  UA: 'UA, agrees',
  DISC: 'DISC, ends the connection',
  DM: 'DM, there is no connection',
  XID: 'XID, says what it can do',
}

/** Who of the others heard it, and how well; or that it was lost, and why. */
function fateOf({ from, octets, atMs, heardBy }: Sent, story: Story): string {
  const calls =
    from === story.node.call || story.other.some(({ call }) => call === from)
      ? addressees(octets, story)
      : [nodeOf(from, story), ...(story.node.digipeater ? othersThan(from, story) : [])]
  const heard = calls.filter((call) => heardBy.has(call))
  const lost = calls.filter((call) => !heardBy.has(call) && isShadowed(story, call, from, atMs))
  const lines = heard.map((call) => {
    const frame = heardBy.get(call)!
    const { quality, repairedBits } = frame
    const measured =
      quality === undefined
        ? ''
        : `, Eb/N0 ${quality.ebN0Db.toFixed(0)} dB, tone balance ${signed(quality.toneBalanceDb)} dB`
    const bits = repairedBits === 1 ? '1 bit' : `${repairedBits} bits`
    const repaired = repairedBits === 0 ? '' : `, ${bits} repaired`
    return `${indent}heard by ${call}${measured}${repaired}\n`
  })
  const losses = lost.map((call) => {
    const why = isShadowed(story, call, from, atMs)?.why
    return `${indent}LOST on the way to ${call}: ${why}\n`
  })
  const silent = heard.length === 0 && losses.length === 0 ? `${indent}heard by nobody\n` : ''
  return [...lines, ...losses].join('') + silent
}

/** Whom a station asks. */
const nodeOf = (call: string, { station, node }: Story): string =>
  station.find((one) => one.call === call)?.asks ?? node.call

const othersThan = (from: string, { station }: Story): string[] =>
  station.map(({ call }) => call).filter((call) => call !== from)

/** Whom a frame of the node is meant for: one station, or all. */
function addressees(octets: Uint8Array, story: Story): string[] {
  const calls = [story.node, ...story.other, ...story.station].map(({ call }) => call)
  const decoded = decodeFrame(octets)
  if (!decoded.ok) return calls
  const to = formatAddress(decoded.frame.destination)
  if (calls.includes(to)) return [to]
  const content = parsePayload(decoded.frame.payload, to)
  return 'addressee' in content && calls.includes(content.addressee) ? [content.addressee] : calls
}

/** The shadow that lay on the path when the frame was on the air; a second covers its length. */
const isShadowed = (story: Story, to: string, from: string, atMs: number) =>
  story.shadow.find(
    ({ station, fromS, toS }) =>
      (station === to || station === from) && atMs / 1000 >= fromS && atMs / 1000 - 1 < toS,
  )

function endingOf({ sent, lastsMs, handHelds, laptops }: DemoEnd, node: string): string {
  const asked = handHelds.flatMap((radio) => radio.sent)
  const shown = handHelds.flatMap((radio) => radio.shown)
  const screens = handHelds
    .filter((radio) => radio.shown.length > 0)
    .flatMap(({ call, shown: messages }) => [
      `On the screen of ${call}:`,
      ...messages.map(({ text }) => `  ${harmlessText(text)}`),
      '',
    ])
  const terminals = laptops.flatMap(({ call, screen }) => [
    `On the screen of ${call}:`,
    ...screen.split('\r').flatMap((line) => wrapped(harmlessText(line), '  ')),
    '',
  ])
  const acknowledged = asked.filter(({ state }) => state === 'acknowledged').length
  const longest = Math.max(0, ...shown.map(({ text }) => text.length))
  const askedWords = `${asked.length} asked, ${acknowledged} acknowledged; ${shown.length} messages shown, the longest ${longest} of 67 characters.`
  return [
    '',
    ...screens,
    ...terminals,
    ...(asked.length === 0 ? [] : [askedWords]),
    `${sent.length} frames on the air in ${(lastsMs / 1000).toFixed(0)} s; ${node} sent ${sent.filter(({ from }) => from === node).length} of them.`,
    '',
  ].join('\n')
}

/** Nothing is said to be a little below nothing. */
const signed = (value: number): string => {
  const text = value.toFixed(1)
  return Number(text) < 0 ? text : `+${text.replace('-', '')}`
}

const ordinal = (times: number): string =>
  times === 2 ? '2nd' : times === 3 ? '3rd' : `${times}th`
