import { describePayload } from '../aprs/describe.js'
import { parsePayload } from '../aprs/parse.js'
import { formatAddress } from '../ax25/address.js'
import { decodeFrame } from '../ax25/frame.js'
import { beaconKinds } from '../node/beaconOptions.js'
import type { WaitingFrame } from '../node/transmitter.js'
import { onTime } from '../radio/dutyLedger.js'
import type { RadioPort } from '../radio/radioPort.js'
import type { QueueReport } from '../radio/radioWatch.js'
import type { Clock } from '../runtime/clock.js'
import { harmlessText } from '../runtime/harmlessText.js'
import type { Feed } from './feed.js'
import type { BrokerView, PageParts } from './parts.js'
import type { Budget, Queued, RadioView, StateView } from './schemas.js'

/** Everything as it is now. */
export function stateView(parts: PageParts, feed: Feed): Omit<StateView, 'visitor'> {
  const { clock, node } = parts
  const state = node.state()
  const { framesHeardCount, openQuestionCount, openMessageCount, mailboxCount, endings } = state
  return {
    ...{ cursor: feed.stream.cursor(), atWallMs: clock.wallMs() },
    ...{ call: parts.call, version: parts.version, startedWallMs: feed.startedWallMs },
    position: state.position && {
      latitudeDeg: state.position.latitudeDeg,
      longitudeDeg: state.position.longitudeDeg,
    },
    ...{ framesHeardCount, openQuestionCount, openMessageCount, mailboxCount },
    endings: endings.slice(0, 20),
    trouble: parts.trouble(),
    faults: parts.faults?.().map((fault) => ({ ...fault, text: harmlessText(fault.text) })),
    isClockTrusted: parts.isClockTrusted?.(),
    broker: parts.broker && brokerView(parts.broker()),
    notOffered: state.notOffered.map(({ keyword, reason }) => ({
      ...{ keyword, reason: harmlessText(reason) },
    })),
    radios: parts.ports.map((port) => radioView(port, parts, feed)),
    canTry: parts.tryIt !== undefined,
    beaconKinds: [...beaconKinds],
  }
}

/** No more than the page shows: the carrier knows more of it. */
const brokerView = ({
  isUp,
  trouble,
  sentCount,
  heardCount,
  openCount,
}: BrokerView): BrokerView => ({
  ...{ isUp, trouble, sentCount, heardCount, openCount },
})

/** One radio as it is now. */
export function radioView(
  port: RadioPort,
  { clock, node }: PageParts,
  feed: Pick<Feed, 'ofRadio'>,
): RadioView {
  const { receiving, channelBusy, keyed, transmitBlockedBy, doubt, holds } = port.state()
  const { reading, queue } = feed.ofRadio(port.radio)
  const wallOf = wallOfMonotonic(clock)
  return {
    ...{ radio: port.radio, name: port.name, receiving, channelBusy, keyed, doubt, reading },
    blockedBy: transmitBlockedBy,
    holds: (holds ?? []).map(({ source, reason, sinceMs }) => ({
      ...{ source, reason: harmlessText(reason), sinceWallMs: wallOf(sinceMs) },
    })),
    budget: budgetView(port, clock),
    queue: queueView(port.radio, node.state().waiting, queue, clock),
  }
}

const moreMs = 1000

/** What the limits leave now, for answers. */
export function budgetView(port: RadioPort, clock: Clock): Budget {
  const { limits, spans, owedSinceMs } = port.duty()
  const nowMs = clock.monotonicMs()
  const wallOf = wallOfMonotonic(clock)
  const airtime = port.airtime()
  const freeMs = airtime.freeMs('answer')
  const moreAtMs = airtime.earliestMs(freeMs + moreMs, 'answer')
  const limited = limits.filter(({ share }) => share < 1)
  return {
    limits: limited.map(({ windowMs, share }) => ({
      ...{ windowMs, share },
      usedMs: onTime(spans, nowMs - windowMs, nowMs),
    })),
    spans: spans.map(({ fromMs, toMs }) => ({
      fromWallMs: wallOf(fromMs),
      toWallMs: wallOf(toMs),
    })),
    freeMs: Number.isFinite(freeMs) ? freeMs : undefined,
    moreAtWallMs:
      Number.isFinite(freeMs) && Number.isFinite(moreAtMs) && moreAtMs > nowMs
        ? wallOf(moreAtMs)
        : undefined,
    owedSinceWallMs: owedSinceMs === undefined ? undefined : wallOf(owedSinceMs),
  }
}

/** The node's own frames, wherever they wait, and those that others gave the radio. */
function queueView(
  radio: number,
  waiting: readonly WaitingFrame[],
  reported: readonly QueueReport[],
  clock: Clock,
): Queued[] {
  const nowWallMs = clock.wallMs()
  const heldFor = new Map(reported.map((item) => [item.id, item.heldFor]))
  const own = waiting.filter((frame) => frame.radio === radio)
  const others = reported.filter(({ id }) => !own.some((frame) => frame.id === id))
  return [
    ...own.map(({ id, priority, station, text, ageMs }) => ({
      ...{ id, priority, station, origin: 'node', text: harmlessText(text) },
      ...{ sinceWallMs: nowWallMs - ageMs, heldFor: heldFor.get(id) },
    })),
    ...others
      .filter(({ origin }) => origin !== 'node')
      .map(({ id, priority, origin, ageMs, heldFor: held, octets }) => ({
        ...{ id, priority, origin, text: octets === undefined ? 'a test tone' : frameText(octets) },
        ...{ sinceWallMs: nowWallMs - ageMs, heldFor: held },
      })),
  ]
}

/** What a frame says, for a person. */
export function frameText(octets: Uint8Array): string {
  const decoded = decodeFrame(octets)
  if (!decoded.ok) return `${octets.length} octets`
  const { destination, payload } = decoded.frame
  return harmlessText(describePayload(parsePayload(payload, formatAddress(destination))))
}

const wallOfMonotonic = (clock: Clock): ((atMs: number) => number) => {
  const offsetMs = clock.wallMs() - clock.monotonicMs()
  return (atMs) => Math.round(atMs + offsetMs)
}
