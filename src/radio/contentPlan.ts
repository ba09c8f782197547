import { parseAddress } from '../ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../ax25/frame.js'
import { bad, good, type Result } from '../ax25/result.js'
import { callSignProblem } from '../regulations/callSign.js'
import { allowanceOf } from './dutyLedger.js'
import { triesWithin } from './identification.js'
import { keyDelayFrame } from './keyDelay.js'
import type { ChannelAccess, Tone } from './radioPort.js'
import type { DurationOf, TransmissionContent } from './transmission.js'
import type { TransmitOptions } from './transmitOptions.js'
import type { Waiting } from './transmitQueue.js'

/** What a transmission holds and how long it takes, under the settings of the moment. */
export interface ContentPlan {
  access(): ChannelAccess
  /**
   * @param frozen an identification is owed, or may be after the running transmission: its airtime is already set aside
   *   and must not change
   * @returns what was changed, or why it was not, in words
   */
  change(change: Partial<ChannelAccess>, frozen: boolean): string
  /** Ends or begins the freeze: from now on an identification is owed, or is not. */
  setIdentificationPending(owed: boolean): void
  /** bad where a frame's addresses cannot be read: it would go out unidentified */
  frameContent(octets: Uint8Array): Result<Waiting['content']>
  /** why it can never be sent; undefined when it can */
  tooLong(content: Waiting['content']): string | undefined
  contentOf(items: readonly Waiting[]): TransmissionContent
  identification(frozen: boolean): TransmissionContent
  /** longest time that the transmitter is on for a content, its hang included */
  keyedMs(content: TransmissionContent): number
  /** when an identification is cut that has not ended by itself: one that hangs must not use up the next one's airtime */
  identificationMsMax(): number
  /** airtime that every other transmission must leave, so that identifications can always follow */
  reserveMs(): number
  /**
   * As many, from the front, as may share one stretch of the key line.
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
  const ownCall = options.call.split('-')[0]
  const identificationFrame = identificationOctets(options)
  let access = options.access
  // What an identification that is owed goes out with: its airtime was set aside under these settings.
  let identificationAccess = access

  const framesContent = (frames: readonly Uint8Array[]) => {
    const { keyDelayMs: preambleMs, tailMs } = access
    return { kind: 'frames', frames, preambleMs, tailMs } as const
  }
  const toneContent = (tone: Tone, toneMs: number, gapMs?: number): TransmissionContent =>
    tone === 'flags'
      ? { ...framesContent([flagsFrame(options, toneMs)]), preambleMs: toneMs }
      : { kind: 'tone', tone, durationMs: toneMs, gapMs }
  const identificationUnder = ({ keyDelayMs, tailMs }: ChannelAccess): TransmissionContent => {
    const { morse } = options.identification
    return {
      kind: 'frames',
      frames: [identificationFrame],
      preambleMs: keyDelayMs,
      tailMs,
      morse: morse === undefined ? undefined : { text: `DE ${ownCall}`, ...morse },
    }
  }
  const keyedMs = (content: TransmissionContent): number => durationMs(content) + devicesMs
  const allowanceMs = allowanceOf(options.dutyLimits)
  const shortestMs = Math.min(timeOutMs, allowanceMs)
  const identificationProblem = (wanted: ChannelAccess): string | undefined => {
    const neededMs = keyedMs(identificationUnder(wanted))
    return neededMs <= shortestMs
      ? undefined
      : `an identification would take ${Math.round(neededMs)} ms, more than the limits allow (${Math.round(shortestMs)} ms)`
  }
  const problem = identificationProblem(access)
  const maySend = options.enabled && callSignProblem(options.call) === undefined
  if (problem !== undefined && maySend) throw new RangeError(problem)

  const identificationMsMax = (wanted: ChannelAccess): number =>
    Math.min(keyedMs(identificationUnder(wanted)) + identificationSlackMs, shortestMs)
  const reserveUnder = (wanted: ChannelAccess): number => {
    const tries = triesWithin(allowanceMs, identificationMsMax(wanted))
    return tries === 1 ? keyedMs(identificationUnder(wanted)) : tries * identificationMsMax(wanted)
  }
  let reserveMs = reserveUnder(access)
  const settle = (owed: boolean): void => {
    if (owed || identificationAccess === access) return
    identificationAccess = access
    reserveMs = reserveUnder(access)
  }

  return {
    access: () => access,
    change(change, frozen) {
      const wanted = { ...access, ...change }
      const wrong = accessProblem(wanted) ?? identificationProblem(wanted)
      if (wrong !== undefined) return `not changed: ${wrong}`
      access = wanted
      settle(frozen)
      return describeChange(change)
    },
    setIdentificationPending: settle,
    frameContent(octets) {
      const decoded = decodeFrame(octets)
      if (!decoded.ok) return bad(`not an AX.25 frame: ${decoded.reason}`)
      return good({ kind: 'frame', octets, identifies: decoded.frame.source.call === ownCall })
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
    identification: (owed) => identificationUnder(owed ? identificationAccess : access),
    keyedMs,
    identificationMsMax: () => identificationMsMax(identificationAccess),
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
