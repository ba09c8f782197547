import { formatMessage } from '../../../aprs/format.js'
import { type Address, parseAddress } from '../../../ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../../../ax25/frame.js'
import { formatLine } from '../../../ax25/line.js'
import { createKissDecoder, encodeKiss, type KissFrame } from '../../../kiss/codec.js'
import { kissCommand } from '../../../kiss/constants.js'
import type { KissHub } from '../../../kiss/hub.js'
import { type Clock, every } from '../../../runtime/clock.js'
import type { Story } from '../../../simulation/story.js'

type Client = Story['client'][number]

const frameOctetsMax = 1024
/** The other side of a polled line asks so often. */
const pollEveryMs = 4_000
const bulletin = 'BLN1'

/**
 * The story's programs at the KISS port: octets go to the real hub and come from it, as over a line.
 * @param note told what a client does and gets, in words
 */
export function attachClients(
  clients: readonly Client[],
  hub: KissHub,
  clock: Clock,
  note: (client: string, text: string) => void,
): void {
  for (const client of clients) attach(client, hub, clock, (text) => note(client.name, text))
}

function attach(
  { name, mode, send }: Client,
  hub: KissHub,
  clock: Clock,
  note: (text: string) => void,
): void {
  const checksum = mode === 'checksum' || mode === 'polled'
  const decoder = createKissDecoder({ maxOctets: frameOctetsMax, checksum })
  const session = hub.attach({
    ...{ name, isLocal: true, waitingOctetsMax: 65_536, whenFull: 'frame' },
    ...(checksum && { line: { checksum, polled: mode === 'polled' } }),
    write(octets) {
      for (const frame of decoder.push(octets)) {
        const words = heardWords(frame)
        if (words !== undefined) note(words)
      }
    },
    waitingOctets: () => 0,
    drop: () => {},
  })
  const say = (command: number, data: Uint8Array): void =>
    session.push(encodeKiss({ port: 0, command, data }, { checksum }))
  let number = 0
  for (const { atS, from, text } of send)
    clock.at(atS * 1000, () => {
      const octets = bulletinFrame(from, text)
      if (mode !== 'acknowledged') {
        note('hands over a frame')
        say(kissCommand.data, octets)
        return
      }
      const mark = Uint8Array.of(0, ++number)
      note(`hands over a frame marked ${number}`)
      say(kissCommand.acknowledgedData, Uint8Array.of(...mark, ...octets))
    })
  if (mode === 'polled') every(clock, pollEveryMs, () => say(kissCommand.poll, new Uint8Array()))
}

/** @returns undefined for a poll that comes back: there was nothing */
function heardWords({ command, data }: KissFrame): string | undefined {
  if (command === kissCommand.acknowledgedData) return `is told that frame ${data[1]} was sent`
  if (command === kissCommand.poll) return undefined
  const decoded = decodeFrame(data)
  return decoded.ok ? `gets ${formatLine(decoded.frame)}` : `gets ${data.length} octets`
}

function bulletinFrame(from: string, text: string): Uint8Array {
  const payload = formatMessage({ addressee: bulletin, text })
  return encodeFrame(
    uiFrame({ source: addressOf(from), destination: addressOf('APZ001'), payload }),
  )
}

function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new RangeError(address.reason)
  return address.value
}
