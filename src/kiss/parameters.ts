import type { KissFrame } from './codec.js'
import { kissCommand } from './constants.js'

/** What KISS lets a host set of a radio's channel access; times in ms. @see KISS s.4 */
export interface ChannelParameters {
  readonly keyDelayMs?: number
  /** 0 to 255: p = (P + 1) / 256 */
  readonly persistence?: number
  readonly slotTimeMs?: number
  readonly tailMs?: number
  readonly fullDuplex?: boolean
}

/** A frame from the host side, understood. */
export type HostRequest =
  | { readonly kind: 'data'; readonly octets: Uint8Array }
  /** data whose two leading octets come back once it was sent (multi-drop paper, 1991) */
  | { readonly kind: 'acknowledgedData'; readonly tag: Uint8Array; readonly octets: Uint8Array }
  | { readonly kind: 'parameters'; readonly change: ChannelParameters }
  /** nothing to do: Return, SetHardware, a poll where none is expected, or a command that the paper does not define */
  | { readonly kind: 'ignored'; readonly reason: 'empty' | 'command' | 'parameter' }

const unitMs = 10

/** What a host asks for; never throws, whatever the octets. */
export function readHostFrame({ command, data }: KissFrame): HostRequest {
  switch (command) {
    case kissCommand.data:
      return data.length > 0 ? { kind: 'data', octets: data } : { kind: 'ignored', reason: 'empty' }
    case kissCommand.acknowledgedData:
      return data.length > 2
        ? { kind: 'acknowledgedData', tag: data.slice(0, 2), octets: data.subarray(2) }
        : { kind: 'ignored', reason: 'empty' }
    case kissCommand.txDelay:
    case kissCommand.persistence:
    case kissCommand.slotTime:
    case kissCommand.txTail:
    case kissCommand.fullDuplex: {
      const value = data[0]
      if (value === undefined) return { kind: 'ignored', reason: 'parameter' }
      return { kind: 'parameters', change: changeOf(command, value) }
    }
    default:
      return { kind: 'ignored', reason: 'command' }
  }
}

/**
 * The frames that set a modem's parameters; times are rounded up to its unit of 10 ms and cut at 2550 ms.
 * @param port the modem's radio, 0 to 15
 */
export function parameterFrames(port: number, parameters: ChannelParameters): KissFrame[] {
  const { keyDelayMs, persistence, slotTimeMs, tailMs, fullDuplex } = parameters
  const wanted: readonly (readonly [number, number | undefined])[] = [
    [kissCommand.txDelay, unitsOf(keyDelayMs)],
    [kissCommand.persistence, persistence],
    [kissCommand.slotTime, unitsOf(slotTimeMs)],
    [kissCommand.txTail, unitsOf(tailMs)],
    [kissCommand.fullDuplex, fullDuplex === undefined ? undefined : Number(fullDuplex)],
  ]
  return wanted.flatMap(([command, value]) =>
    value === undefined ? [] : [{ port, command, data: Uint8Array.of(value) }],
  )
}

function changeOf(command: number, value: number): ChannelParameters {
  switch (command) {
    case kissCommand.txDelay:
      return { keyDelayMs: value * unitMs }
    case kissCommand.persistence:
      return { persistence: value }
    case kissCommand.slotTime:
      return { slotTimeMs: value * unitMs }
    case kissCommand.txTail:
      return { tailMs: value * unitMs }
    default:
      return { fullDuplex: value !== 0 }
  }
}

const unitsOf = (ms: number | undefined): number | undefined =>
  ms === undefined ? undefined : Math.max(0, Math.min(255, Math.ceil(ms / unitMs)))
