import type { Control } from '../control.js'
import type { LinkData, SessionFrame } from './linkEvents.js'
import { after, ahead, type LinkState } from './linkState.js'
import {
  checkAcknowledged,
  enquiryResponse,
  enter,
  isInWindow,
  reestablish,
  sendSupervisory,
  type Turn,
  tellError,
} from './linkSteps.js'

/** What becomes of an I frame in the states Connected and Timer Recovery (figures C4.4 and C4.5). */
export function receiveInformation(
  turn: Turn,
  frame: SessionFrame,
  control: Extract<Control, { type: 'I' }>,
): void {
  const { link } = turn
  if (!frame.isCommand) {
    tellError(turn, 'O')
    enter(turn, 'connected')
    return
  }
  if (frame.payload.length > link.parameters.informationOctetsMax) {
    reestablish(turn, 'O')
    return
  }
  if (!isInWindow(link, control.receiveSequence)) {
    reestablish(turn, 'J')
    return
  }
  checkAcknowledged(turn, control.receiveSequence)
  const { sendSequence, pollFinal } = control
  const data = { pid: frame.pid ?? 0, payload: frame.payload }
  if (link.ownBusy) {
    if (pollFinal) enquiryResponse(turn, true)
  } else if (sendSequence === link.receiveNext) {
    takeInSequence(turn, data)
    acknowledge(turn, pollFinal)
  } else takeOutOfSequence(turn, sendSequence, data, pollFinal)
}

function takeInSequence({ link, actions }: Turn, data: LinkData): void {
  let next: LinkData | undefined = data
  link.rejectOpen = false
  while (next !== undefined) {
    actions.push({ type: 'received', data: next })
    link.kept.delete(link.receiveNext)
    link.selectAsked.delete(link.receiveNext)
    link.receiveNext = after(link, link.receiveNext)
    next = link.kept.get(link.receiveNext)
  }
}

/** At once when polled; else soon, with a frame of ours or on its own, so that one answer serves several frames. */
function acknowledge(turn: Turn, poll: boolean): void {
  const { link, actions } = turn
  if (poll) enquiryResponse(turn, true)
  else if (!link.acknowledgePending) {
    link.acknowledgePending = true
    actions.push({ type: 'seize' })
  }
}

function takeOutOfSequence(turn: Turn, number: number, data: LinkData, poll: boolean): void {
  const { link } = turn
  // Beyond the window it can only be one that came before: whoever sent it again has to hear where we are.
  if (ahead(link, link.receiveNext, number) >= receiveWindow(link)) acknowledge(turn, poll)
  else if (link.rejectOpen) {
    if (poll) enquiryResponse(turn, true)
  } else if (!link.parameters.selective) reject(turn, poll)
  else if (link.kept.size > 0 || link.selectAsked.size > 0) {
    link.kept.set(number, data)
    askForMissing(turn, number)
    if (poll) enquiryResponse(turn, true)
  } else if (number === after(link, link.receiveNext)) {
    link.kept.set(number, data)
    link.selectAsked.add(link.receiveNext)
    link.acknowledgePending = false
    sendSupervisory(turn, 'SREJ', { isCommand: false, pollFinal: true })
  } else reject(turn, poll)
}

/** With SREJ no more than half of the numbers may be under way, or an old frame passes for a new one. */
const receiveWindow = ({ parameters }: LinkState): number =>
  parameters.selective ? Math.min(selectiveWindowMax, parameters.modulo / 2) : parameters.modulo - 1

/** What a station of version 2.2 expects unless it is told otherwise; it bounds what is kept, too. */
const selectiveWindowMax = 32

function reject(turn: Turn, poll: boolean): void {
  const { link } = turn
  link.rejectOpen = true
  link.acknowledgePending = false
  sendSupervisory(turn, 'REJ', { isCommand: false, pollFinal: poll })
}

/** Each frame before this one that neither came nor was asked for is asked for; F = 0, for it acknowledges nothing. */
function askForMissing(turn: Turn, before: number): void {
  const { link } = turn
  for (let number = link.receiveNext; number !== before; number = after(link, number)) {
    if (link.kept.has(number) || link.selectAsked.has(number)) continue
    link.selectAsked.add(number)
    sendSupervisory(turn, 'SREJ', { isCommand: false, pollFinal: false, number })
  }
}
