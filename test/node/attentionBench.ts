import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { type AttentionParts, attention } from '../../src/node/attention.js'
import type { EmergencyCall } from '../../src/node/emergency.js'
import type { Heard } from '../../src/node/intake.js'
import type { HeardFrame } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { inEnglish } from '../../src/words/air/all.js'

export const heardWallMs = Date.UTC(2026, 0, 1)

export const octetsOf = (line: string): Uint8Array => {
  const parsed = parseLine(line)
  if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
  return encodeFrame(parsed.frame)
}
export const frameOf = (octets: Uint8Array, more: Partial<HeardFrame> = {}): HeardFrame => ({
  ...{
    octets,
    radio: 2,
    heardAtMs: 0,
    heardAtWallMs: heardWallMs,
    repairedBits: 0,
    detector: 'test',
  },
  ...more,
})
/** The same frame with the first letter of its source in lower case. */
export function withLowerCase(octets: Uint8Array): Uint8Array {
  const changed = Uint8Array.from(octets)
  changed[7] = 0x61 << 1
  return changed
}

export const message = (text: string, from = 'N0CALL-7', to = 'N0DE-10', path = ''): string =>
  `${from}>APZ001${path}::${to.padEnd(9)}:${text}`

export interface Given {
  readonly options?: Parameters<typeof defaultNodeOptions>[0]
  readonly parts?: Partial<AttentionParts>
  readonly quiet?: string | undefined
  readonly call?: EmergencyCall
  readonly acknowledges?: boolean
}

export function attentionBench({ options, parts, quiet, call, acknowledges = true }: Given = {}) {
  const clock = virtualClock(heardWallMs)
  const kept: unknown[] = []
  const stations: unknown[] = []
  const told: [string, string, unknown][] = []
  const tallied: [string, string | undefined][] = []
  const done: unknown[][] = []
  const does =
    (what: string, result?: unknown) =>
    (...given: unknown[]): unknown => {
      const named = given.map((one) => (one as Heard | undefined)?.from ?? one)
      done.push([what, ...named])
      return result
    }
  const attend = attention({
    ...{ clock, options: defaultNodeOptions({ call: 'N0DE-10', ...options }) },
    store: {
      frames: { add: (one: unknown) => void kept.push(one) },
      stations: { add: (one: unknown) => void stations.push(one), recent: () => [] },
    } as never,
    note: (kind, text, detail) => void told.push([kind, text, detail]),
    tally: { note: (what, why) => void tallied.push([what, why]), endings: [] },
    outbox: {
      acknowledged: does('acknowledged', acknowledges),
      rejected: does('rejected', acknowledges),
      stationHeard: does('outbox heard'),
    } as never,
    mail: { stationHeard: does('mail heard') } as never,
    conversations: {
      take: (heard, payload, to, help) =>
        void done.push(['asked', heard.from, payload, to.kind, help]),
    },
    emergencies: { answerUnasked: does('answered unasked', 'was answered lately') as never },
    noticeEmergency: ((heard: Heard) => does('noticed', call)(heard)) as never,
    bulletins: { take: does('bulletin') },
    via: { note: ({ from }, nowMs) => void done.push(['via', from, nowMs]), find: () => undefined },
    shortNumbers: { note: does('short'), has: () => false },
    position: () => undefined,
    onHeard: does('act heard'),
    quietUntil: () => quiet,
    isOperator: (from) => from === 'Q1OPS',
    onQuery: (heard, replies) => {
      done.push(['query', heard.from, replies])
      return undefined
    },
    wording: () => inEnglish,
    ...parts,
  })
  const hear = (line: string, more: Partial<HeardFrame> = {}): void =>
    attend(frameOf(octetsOf(line), more))
  /** what was done besides what is done with every frame */
  const special = () => done.filter(([what]) => !/heard$|^noticed$|^bulletin$/.test(String(what)))
  const reasons = () => told.map(([, , detail]) => (detail as { reason?: string }).reason)
  return { attend, clock, kept, stations, told, tallied, done, hear, special, reasons }
}
