import type { Control, SupervisoryName, UnnumberedName } from '../control.js'
import type { LinkAction, LinkData, LinkErrorCode, SessionFrame } from './linkEvents.js'
import type { LinkParameters } from './linkParameters.js'
import { after, ahead, type LinkState, type LinkStateName } from './linkState.js'

/** What a data link does about one event. */
export interface Turn {
  readonly link: LinkState
  readonly nowMs: number
  readonly actions: LinkAction[]
}

/** So much later for each try that was not answered. @see AX.25 v2.2, figure C4.7, Select T1 */
const t1StepMs = 250
/** After the channel was busy, whoever has to answer needs a moment to find it free. */
const afterBusyMs = 1000

const nothing = new Uint8Array()

function send({ actions, link }: Turn, frame: SessionFrame): void {
  link.unsent = true
  actions.push({ type: 'send', frame })
}

export function sendUnnumbered(turn: Turn, name: UnnumberedName, pollFinal: boolean): void {
  const isCommand = name !== 'UA' && name !== 'DM'
  send(turn, { control: { type: 'U', name, pollFinal }, isCommand, payload: nothing })
}

export function sendSupervisory(
  turn: Turn,
  name: SupervisoryName,
  given: { readonly isCommand: boolean; readonly pollFinal: boolean; readonly number?: number },
): void {
  const receiveSequence = given.number ?? turn.link.receiveNext
  const control: Control = { type: 'S', name, receiveSequence, pollFinal: given.pollFinal }
  send(turn, { control, isCommand: given.isCommand, payload: nothing })
}

export function sendUnitData(turn: Turn, data: LinkData): void {
  send(turn, { control: { type: 'UI', pollFinal: false }, isCommand: true, ...data })
}

export function tellError({ actions }: Turn, code: LinkErrorCode): void {
  actions.push({ type: 'error', code })
}

export function startT1({ link, nowMs }: Turn): void {
  link.t1SinceMs = nowMs
  link.t3SinceMs = undefined
}

export function stopT1({ link }: Turn): void {
  link.t1SinceMs = undefined
}

export function startT3({ link, nowMs }: Turn): void {
  link.t1SinceMs = undefined
  link.t3SinceMs = nowMs
}

export function stopTimers({ link }: Turn): void {
  link.t1SinceMs = undefined
  link.t3SinceMs = undefined
}

/** Somebody else is heard: nobody can answer before that ends. */
export function postponeT1({ link, nowMs }: Turn): void {
  link.t1SinceMs = Math.max(link.t1SinceMs ?? nowMs, nowMs + afterBusyMs - link.t1Ms)
}

/**
 * Select T1: the smoothed round trip is what T1 had run when it was stopped, unless something had to be asked again.
 * @see AX.25 v2.2, figure C4.7
 */
export function selectT1({ link, nowMs }: Turn, expired = false): void {
  const { t1MsMin, t1MsMax } = link.options.times
  if (link.tries === 0 && link.t1SinceMs !== undefined && !link.unsent) {
    const tookMs = Math.min(nowMs - link.t1SinceMs, link.t1Ms)
    link.roundTripMs = (7 * link.roundTripMs + tookMs) / 8
  }
  const laterMs = expired ? link.tries * t1StepMs : 0
  link.t1Ms = Math.min(Math.max(2 * link.roundTripMs + laterMs, t1MsMin), t1MsMax)
}

export function resetRoundTrip({ link }: Turn): void {
  link.roundTripMs = link.options.times.roundTripMs
  link.t1Ms = Math.min(
    Math.max(2 * link.roundTripMs, link.options.times.t1MsMin),
    link.options.times.t1MsMax,
  )
}

export function setVersion({ link }: Turn, parameters: LinkParameters): void {
  link.parameters = parameters
  link.windowFrames = parameters.windowFramesMax
}

export const isVersion22 = (link: LinkState): boolean => link.parameters.modulo === 128

export function enter({ link }: Turn, name: LinkStateName): void {
  link.name = name
}

/** Where a connection is waited for that is asked for with SABM or SABME. */
export const awaiting = (link: LinkState): LinkStateName =>
  isVersion22(link) ? 'awaitingConnection22' : 'awaitingConnection'

export function discardQueue({ link }: Turn): void {
  link.queue.length = 0
  link.again.length = 0
}

/** Nothing of what came before counts any more. */
export function zeroVariables({ link }: Turn): void {
  link.sendNext = 0
  link.acknowledged = 0
  link.receiveNext = 0
  link.answersInVain = 0
  link.again.length = 0
  link.sent.clear()
  link.kept.clear()
}

export function clearExceptions(turn: Turn): void {
  const { link } = turn
  link.peerBusy = false
  link.ownBusy = false
  link.rejectOpen = false
  link.selectAsked.clear()
  link.acknowledgePending = false
  discardQueue(turn)
}

export function establish(turn: Turn): void {
  clearExceptions(turn)
  turn.link.tries = 1
  sendUnnumbered(turn, isVersion22(turn.link) ? 'SABME' : 'SABM', true)
  startT1(turn)
}

/** Begins anew, because what the other says cannot be. */
export function reestablish(turn: Turn, code: LinkErrorCode): void {
  tellError(turn, code)
  establish(turn)
  turn.link.layer3Initiated = false
  enter(turn, awaiting(turn.link))
}

export function transmitEnquiry(turn: Turn): void {
  const { link } = turn
  sendSupervisory(turn, link.ownBusy ? 'RNR' : 'RR', { isCommand: true, pollFinal: true })
  link.acknowledgePending = false
  startT1(turn)
}

/**
 * Says where we are. Whoever polls and left a gap behind is asked for what is missing first: a SREJ with F = 1 says how
 * far all came, too, and has only that frame sent again.
 */
export function enquiryResponse(turn: Turn, pollFinal: boolean): void {
  const { link } = turn
  link.acknowledgePending = false
  if (link.ownBusy) sendSupervisory(turn, 'RNR', { isCommand: false, pollFinal })
  else if (pollFinal && link.parameters.selective && link.kept.size > 0) {
    link.selectAsked.add(link.receiveNext)
    sendSupervisory(turn, 'SREJ', { isCommand: false, pollFinal })
  } else sendSupervisory(turn, 'RR', { isCommand: false, pollFinal })
}

/** V(A) <= N(R) <= V(S). */
export const isInWindow = (link: LinkState, number: number): boolean =>
  ahead(link, link.acknowledged, number) <= ahead(link, link.acknowledged, link.sendNext)

/** V(A) := N(R), and what is acknowledged by that is forgotten. @returns whether anything was */
export function setAcknowledged({ link }: Turn, number: number): boolean {
  const moved = link.acknowledged !== number
  while (link.acknowledged !== number) {
    link.acknowledgedOctets += link.sent.get(link.acknowledged)?.payload.length ?? 0
    link.sent.delete(link.acknowledged)
    const at = link.again.indexOf(link.acknowledged)
    if (at >= 0) link.again.splice(at, 1)
    link.acknowledged = after(link, link.acknowledged)
  }
  if (moved && link.windowFrames < link.parameters.windowFramesMax) link.windowFrames++
  return moved
}

/** Check I Frame Acknowledged. */
export function checkAcknowledged(turn: Turn, number: number): void {
  const { link } = turn
  if (link.peerBusy) {
    setAcknowledged(turn, number)
    link.t3SinceMs = undefined
    if (link.t1SinceMs === undefined) startT1(turn)
  } else if (number === link.sendNext) {
    setAcknowledged(turn, number)
    selectT1(turn)
    startT3(turn)
  } else if (setAcknowledged(turn, number)) startT1(turn)
}

/** All that was sent from N(R) on is sent again. */
export function invokeRetransmission({ link }: Turn): void {
  link.again.length = 0
  for (let number = link.acknowledged; number !== link.sendNext; number = after(link, number))
    link.again.push(number)
}

/** One frame is sent again, if it is one that was sent. */
export function sendOneAgain({ link }: Turn, number: number): void {
  if (link.sent.has(number) && !link.again.includes(number)) link.again.push(number)
}

/** Something was lost: fewer are sent before an answer. */
export function narrowWindow({ link }: Turn): void {
  link.windowFrames = Math.max(
    Math.ceil(link.windowFrames / 2),
    Math.min(2, link.parameters.windowFramesMax),
  )
}

/** I frames pop off the queue, as far as window and peer allow. */
export function sendQueued(turn: Turn): void {
  const { link } = turn
  while (!link.peerBusy) {
    const old = link.again.shift()
    if (old !== undefined) {
      sendInformation(turn, old, link.sent.get(old))
      continue
    }
    if (ahead(link, link.acknowledged, link.sendNext) >= link.windowFrames) return
    const data = link.queue.shift()
    if (data === undefined) return
    link.sent.set(link.sendNext, data)
    sendInformation(turn, link.sendNext, data)
    link.sendNext = after(link, link.sendNext)
  }
}

function sendInformation(turn: Turn, sendSequence: number, data: LinkData | undefined): void {
  const { link } = turn
  if (data === undefined) return
  const control: Control = {
    ...{ type: 'I', sendSequence, receiveSequence: link.receiveNext, pollFinal: false },
  }
  send(turn, { control, isCommand: true, ...data })
  link.acknowledgePending = false
  if (link.t1SinceMs === undefined) startT1(turn)
}
