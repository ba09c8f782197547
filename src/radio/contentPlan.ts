import { parseAddress } from '../ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../ax25/frame.js'
import { bad, good, type Result } from '../ax25/result.js'
import { callSignProblem } from '../regulations/callSign.js'
import { allowanceOf } from './dutyLedger.js'
import { triesWithin } from './identification.js'
import { keyDelayFrame } from './keyDelay.js'
import type { ChannelAccess, Tone } from './radioPort.js'
import type { DurationOf, TransmissionContent } from './transmissionContent.js'
import type { TransmitOptions } from './transmitOptions.js'
import type { Waiting } from './transmitQueue.js'

/** What a transmission holds and how long it takes, under the settings of the moment. */
export interface ContentPlan {
  access(): ChannelAccess
  /**
   * @param owed an identification is owed, or may be after the running transmission: its airtime is already set aside
   *   and must not change
   * @returns what was changed, or why it was not, in words
   */
  change(change: Partial<ChannelAccess>, owed: boolean): string
  /** From now on an identification is owed, or is not: while it is, its airtime does not change. */
  setIdentificationPending(owed: boolean): void
  /** bad where a frame's addresses cannot be read: it would go out unidentified */
  frameContent(octets: Uint8Array): Result<Waiting['content']>
  /** why it can never be sent; undefined when it can */
  tooLong(content: Waiting['content']): string | undefined
  /** what frames make under the settings of the moment */
  framesContent(frames: readonly Uint8Array[]): TransmissionContent
  contentOf(items: readonly Waiting[]): TransmissionContent
  identification(owed: boolean): TransmissionContent
  /** longest time that the transmitter is on for a content, its hang included */
  keyedMs(content: TransmissionContent): number
  /** when an identification is cut that has not ended by itself: one that hangs must not use up the next one's airtime */
  identificationMsMax(): number
  /** airtime that every other transmission must leave, so that identifications can always follow */
  reserveMs(): number
  /**
   * As many, from the front, as may share one transmission.
   * @param keyedMsMax how long it may be with this one as the last
   */
  gather(items: readonly Waiting[], keyedMsMax: (item: Waiting) => number): Waiting[]
  /** for sharing the airtime of a transmission among what it carried */
  weight(item: Waiting): number
}

export interface ContentPlanOptions extends TransmitOptions {
  readonly durationMs: DurationOf
  readonly keyOverheadMs: number
  readonly unkeyMarginMs: number
}

/** @throws RangeError when an identification fits neither the time-out timer nor a duty limit */
export function createContentPlan(options: ContentPlanOptions): ContentPlan {
  const { durationMs, timeOutMs } = options
  const devicesMs = options.keyOverheadMs + options.unkeyMarginMs + (options.hangMs ?? 0)
  const identifyingCalls = plainlyRead(options.code) === options.code ? [ownCallOf(options)] : []
  let access = options.access
  // What an identification that is owed goes out with: its airtime was set aside under these settings.
  let identificationAccess = access

  const framesContent = (frames: readonly Uint8Array[]) => {
    const { keyDelayMs: preambleMs, tailMs } = access
    const { code, bitRate } = options
    return { kind: 'frames', frames, preambleMs, tailMs, code, bitRate } as const
  }
  const toneContent = (tone: Tone, toneMs: number, gapMs?: number): TransmissionContent =>
    tone === 'flags'
      ? { ...plain(framesContent([flagsFrame(options, toneMs)])), preambleMs: toneMs }
      : { kind: 'tone', tone, durationMs: toneMs, gapMs }
  const keyedMs = (content: TransmissionContent): number => durationMs(content) + devicesMs
  const identification = identificationPlan(options, keyedMs)
  const problem = identification.problem(access)
  const maySend = options.enabled && callSignProblem(options.call) === undefined
  if (problem !== undefined && maySend) throw new RangeError(problem)

  let reserveMs = identification.reserveMs(access)
  const settle = (owed: boolean): void => {
    if (owed || identificationAccess === access) return
    identificationAccess = access
    reserveMs = identification.reserveMs(access)
  }

  return {
    access: () => access,
    change(change, owed) {
      const wanted = { ...access, ...change }
      const wrong = accessProblem(wanted) ?? identification.problem(wanted)
      if (wrong !== undefined) return `not changed: ${wrong}`
      access = wanted
      settle(owed)
      return describeChange(change)
    },
    setIdentificationPending: settle,
    frameContent(octets) {
      const decoded = decodeFrame(octets)
      if (!decoded.ok) return bad(`not an AX.25 frame: ${decoded.reason}`)
      const { call } = decoded.frame.source
      return good({ kind: 'frame', octets, identifies: identifyingCalls.includes(call) })
    },
    tooLong(content) {
      const neededMs = keyedMs(
        content.kind === 'tone'
          ? toneContent(content.tone, content.durationMs)
          : framesContent([content.octets]),
      )
      if (neededMs > timeOutMs)
        return `it alone would take ${Math.round(neededMs)} ms, longer than the time-out timer (${timeOutMs} ms)`
      return tooLongForDuty(options, neededMs + reserveMs)
    },
    contentOf(items) {
      const first = items[0]?.content
      if (first?.kind === 'tone') return toneContent(first.tone, first.durationMs, first.gapMs)
      return framesContent(
        items.map((item) =>
          item.content.kind === 'frame' ? item.content.octets : new Uint8Array(),
        ),
      )
    },
    framesContent,
    identification: (owed) => identification.content(owed ? identificationAccess : access),
    keyedMs,
    identificationMsMax: () => identification.keyedMsMax(identificationAccess),
    reserveMs: () => reserveMs,
    gather(items, keyedMsMax) {
      const first = items[0]!
      if (first.content.kind === 'tone') return [first]
      const gathered = [first]
      const frames = [first.content.octets]
      for (const item of items.slice(1)) {
        const { content } = item
        if (content.kind === 'tone') break
        if (keyedMs(framesContent([...frames, content.octets])) > keyedMsMax(item)) break
        frames.push(content.octets)
        gathered.push(item)
      }
      return gathered
    },
    weight: ({ content }) => (content.kind === 'tone' ? 1 : content.octets.length),
  }
}

/** An identification under given settings: what it holds, and the airtime that it takes. */
interface IdentificationPlan {
  content(access: ChannelAccess): TransmissionContent
  /** why it could not be sent at all, in words */
  problem(access: ChannelAccess): string | undefined
  keyedMsMax(access: ChannelAccess): number
  /** set aside for as many as may be needed until one succeeds */
  reserveMs(access: ChannelAccess): number
}

function identificationPlan(
  options: ContentPlanOptions,
  keyedMs: (content: TransmissionContent) => number,
): IdentificationPlan {
  const frames = [identificationOctets(options)]
  const allowanceMs = allowanceOf(options.dutyLimits)
  const shortestMs = Math.min(options.timeOutMs, allowanceMs)
  const { morse: sound } = options.identification
  const morse = sound && { text: `DE ${ownCallOf(options)}`, ...sound }

  const code = plainlyRead(options.code)
  const content = ({ keyDelayMs: preambleMs, tailMs }: ChannelAccess): TransmissionContent => ({
    ...{ kind: 'frames', frames, preambleMs, tailMs, code, morse },
    bitRate: options.bitRate,
  })
  const keyedMsMax = (access: ChannelAccess): number =>
    Math.min(keyedMs(content(access)) + identificationSlackMs, shortestMs)
  return {
    content,
    keyedMsMax,
    problem(access) {
      const neededMs = keyedMs(content(access))
      return neededMs <= shortestMs
        ? undefined
        : `an identification would take ${Math.round(neededMs)} ms, more than the limits allow (${Math.round(shortestMs)} ms)`
    },
    reserveMs(access) {
      const tries = triesWithin(allowanceMs, keyedMsMax(access))
      return tries === 1 ? keyedMs(content(access)) : tries * keyedMsMax(access)
    },
  }
}

/** Whoever listens must be able to read who sends, so an identification never goes out in IL2P, and no frame in IL2P is one. */
const plainlyRead = (code: TransmitOptions['code']): TransmitOptions['code'] =>
  code?.kind === 'il2p' ? undefined : code

const plain = (content: Extract<TransmissionContent, { kind: 'frames' }>) => ({
  ...content,
  code: plainlyRead(content.code),
})

/** Without the SSID. */
const ownCallOf = ({ call }: ContentPlanOptions): string => call.split('-')[0]!

/** An identification may last so much longer than devices are expected to take, ms. */
const identificationSlackMs = 300

function tooLongForDuty(options: ContentPlanOptions, neededMs: number): string | undefined {
  for (const { share, windowMs } of options.dutyLimits) {
    if (share < 1 && neededMs > share * windowMs)
      return `it alone, with the identification after it, would take ${Math.round(neededMs)} ms, more than the duty limit ever allows (${Math.round(share * windowMs)} ms)`
  }
  return undefined
}

/** For finding the key delay; under a call sign that cannot be written nothing is sent. */
function flagsFrame(options: ContentPlanOptions, flagsMs: number): Uint8Array {
  const source = parseAddress(options.call)
  const destination = parseAddress(options.identification.destination)
  if (!source.ok || !destination.ok) return new Uint8Array()
  return encodeFrame(keyDelayFrame(source.value, destination.value, Math.round(flagsMs)))
}

/** Our call to everybody: a UI frame whose source field, and text, are our call. */
function identificationOctets(options: ContentPlanOptions): Uint8Array {
  const source = parseAddress(options.call)
  const destination = parseAddress(options.identification.destination)
  // Under a call sign that cannot be written nothing is sent at all.
  if (!source.ok || !destination.ok) return new Uint8Array()
  const payload = new TextEncoder().encode(options.call)
  return encodeFrame(uiFrame({ source: source.value, destination: destination.value, payload }))
}

function accessProblem(access: ChannelAccess): string | undefined {
  const { keyDelayMs, tailMs, slotTimeMs, persistence } = access
  for (const [name, value] of Object.entries({ keyDelayMs, tailMs, slotTimeMs })) {
    if (!(value >= 0 && value <= accessMsMax)) return `${name} is out of range: ${value}`
  }
  return persistence >= 0 && persistence <= 255
    ? undefined
    : `persistence is out of range: ${persistence}`
}

/** The largest that one octet of 10 ms units can say. */
const accessMsMax = 2550

const describeChange = (change: Partial<ChannelAccess>): string =>
  Object.entries(change)
    .map(([name, value]) => `${name} = ${value}`)
    .join(', ')
