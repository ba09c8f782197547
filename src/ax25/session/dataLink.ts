import type { LinkAction, LinkData, LinkEvent, SessionFrame } from './linkEvents.js'
import { receiveInformation } from './linkInformation.js'
import { type LinkState, linkWakesAtMs } from './linkState.js'
import {
  awaiting,
  clearExceptions,
  discardQueue,
  enquiryResponse,
  enter,
  establish,
  isVersion22,
  narrowWindow,
  postponeT1,
  reestablish,
  resetRoundTrip,
  selectT1,
  sendQueued,
  sendSupervisory,
  sendUnitData,
  sendUnnumbered,
  setVersion,
  startT1,
  startT3,
  stopT1,
  stopTimers,
  type Turn,
  tellError,
  transmitEnquiry,
  zeroVariables,
} from './linkSteps.js'
import { receiveSupervisory } from './linkSupervisory.js'

/**
 * The data-link machine of AX.25 v2.2, figures C4.1 to C4.7, for one peer: an event with its time goes in, `link` changes, and
 * what is to be done comes out. It never looks at a clock. Where the figures contradict the text, the text holds;
 * `test/published/ax25Link.test.ts` walks each of their transitions and names each that is different here, and why.
 * T1 counts from when what it times has been sent, and not while others are heard: on a shared channel a frame waits.
 */
export function advanceLink(link: LinkState, event: LinkEvent, nowMs: number): LinkAction[] {
  const turn: Turn = { link, nowMs, actions: [] }
  take(turn, event)
  if (isOpen(link)) sendQueued(turn)
  return turn.actions
}

const isOpen = ({ name }: LinkState): boolean => name === 'connected' || name === 'timerRecovery'

const isAwaiting = ({ name }: LinkState): boolean =>
  name === 'awaitingConnection' || name === 'awaitingConnection22'

function take(turn: Turn, event: LinkEvent): void {
  const { link } = turn
  switch (event.type) {
    case 'connect':
      connect(turn, event.version)
      break
    case 'disconnect':
      disconnect(turn)
      break
    case 'data':
      if (mayQueue(link)) link.queue.push(event.data)
      break
    case 'unitData':
      sendUnitData(turn, event.data)
      break
    case 'flow':
      if (isOpen(link)) setFlow(turn, event.on)
      break
    case 'seized':
      if (isOpen(link) && link.acknowledgePending) enquiryResponse(turn, false)
      break
    case 'frame':
      receive(turn, event.frame)
      break
    case 'badFrame':
      receiveBad(turn, event.fault)
      break
    case 'sent':
      link.unsent = false
      if (link.t1SinceMs !== undefined) link.t1SinceMs = turn.nowMs
      break
    case 'time':
      expire(turn, event.channelBusy)
      break
  }
}

/** While a connection is only asked for, what waits is for the one that we asked for. */
const mayQueue = (link: LinkState): boolean =>
  (isOpen(link) || (isAwaiting(link) && link.layer3Initiated)) &&
  link.queue.length < link.options.queueMax

function connect(turn: Turn, version: '2.0' | '2.2'): void {
  const { link } = turn
  if (link.name === 'awaitingRelease') return
  discardQueue(turn)
  if (isAwaiting(link)) {
    link.layer3Initiated = true
    return
  }
  if (link.name === 'disconnected') {
    setVersion(turn, version === '2.2' ? link.options.version22 : link.options.version20)
    resetRoundTrip(turn)
  }
  establish(turn)
  link.layer3Initiated = true
  link.disconnectWanted = false
  enter(turn, awaiting(link))
}

function disconnect(turn: Turn): void {
  const { link } = turn
  if (link.name === 'disconnected') turn.actions.push({ type: 'disconnected', by: 'us' })
  else if (isAwaiting(link)) link.disconnectWanted = true
  else if (link.name === 'awaitingRelease') sendUnnumbered(turn, 'DM', false)
  else release(turn)
}

function release(turn: Turn): void {
  const { link } = turn
  discardQueue(turn)
  link.tries = 0
  sendUnnumbered(turn, 'DISC', true)
  startT1(turn)
  enter(turn, 'awaitingRelease')
}

/** The figures ask the wrong way round whether we are busy already; the text says what is meant. */
function setFlow(turn: Turn, on: boolean): void {
  const { link } = turn
  if (link.ownBusy !== on) return
  link.ownBusy = !on
  link.acknowledgePending = false
  sendSupervisory(turn, on ? 'RR' : 'RNR', { isCommand: on, pollFinal: false })
  if (on && link.t1SinceMs === undefined) startT1(turn)
}

/** The other is gone, or says so. */
function end(turn: Turn, by: 'peer' | 'us' | 'silence'): void {
  const { link } = turn
  discardQueue(turn)
  stopTimers(turn)
  zeroVariables(turn)
  link.disconnectWanted = false
  enter(turn, 'disconnected')
  turn.actions.push({ type: 'disconnected', by })
}

function receive(turn: Turn, frame: SessionFrame): void {
  const { control } = frame
  switch (control.type) {
    case 'UI':
      receiveUnitData(turn, frame, control.pollFinal)
      break
    case 'I':
      if (isOpen(turn.link)) receiveInformation(turn, frame, control)
      else refuseWhileNotOpen(turn, frame.isCommand, control.pollFinal)
      break
    case 'S':
      if (isOpen(turn.link)) receiveSupervisory(turn, frame, control)
      else refuseWhileNotOpen(turn, frame.isCommand, control.pollFinal)
      break
    case 'U':
      receiveUnnumbered(turn, frame, control.name, control.pollFinal)
      break
  }
}

/** While a connection is being asked for, such frames are dropped. */
function refuseWhileNotOpen(turn: Turn, isCommand: boolean, poll: boolean): void {
  const { name } = turn.link
  if (!isCommand) return
  if (name === 'disconnected') sendUnnumbered(turn, 'DM', poll)
  else if (name === 'awaitingRelease' && poll) sendUnnumbered(turn, 'DM', true)
}

function receiveUnnumbered(turn: Turn, frame: SessionFrame, name: string, poll: boolean): void {
  switch (name) {
    case 'SABM':
      receiveCall(turn, '2.0', poll)
      break
    case 'SABME':
      receiveCall(turn, '2.2', poll)
      break
    case 'DISC':
      receiveDisc(turn, poll)
      break
    case 'UA':
      receiveUa(turn, poll)
      break
    case 'DM':
      receiveDm(turn, poll)
      break
    case 'FRMR':
      receiveFrmr(turn)
      break
    default:
      if (frame.isCommand && turn.link.name === 'disconnected') sendUnnumbered(turn, 'DM', poll)
  }
}

/** SABM or SABME. */
function receiveCall(turn: Turn, version: '2.0' | '2.2', poll: boolean): void {
  const { link } = turn
  const parameters = version === '2.2' ? link.options.version22 : link.options.version20
  switch (link.name) {
    case 'disconnected':
      if (!link.mayConnect) {
        sendUnnumbered(turn, 'DM', poll)
        return
      }
      setVersion(turn, parameters)
      sendUnnumbered(turn, 'UA', poll)
      clearExceptions(turn)
      beginConnected(turn)
      resetRoundTrip(turn)
      turn.actions.push({ type: 'connected', by: 'peer' })
      break
    case 'awaitingRelease':
      sendUnnumbered(turn, 'DM', poll)
      break
    case 'awaitingConnection':
    case 'awaitingConnection22':
      // Both ask at once: alike, both agree; else neither does (6.3.6.2).
      if (isVersion22(link) === (version === '2.2')) sendUnnumbered(turn, 'UA', poll)
      else {
        sendUnnumbered(turn, 'DM', poll)
        end(turn, 'peer')
      }
      break
    default:
      beginAnew(turn, parameters, poll)
  }
}

/** The peer begins anew; whatever was not acknowledged is lost, and whoever hands data over is told. */
function beginAnew(turn: Turn, parameters: LinkState['parameters'], poll: boolean): void {
  const { link } = turn
  const lost = link.sendNext !== link.acknowledged
  setVersion(turn, parameters)
  sendUnnumbered(turn, 'UA', poll)
  clearExceptions(turn)
  tellError(turn, 'F')
  beginConnected(turn)
  if (lost) turn.actions.push({ type: 'connected', by: 'peer' })
}

function beginConnected(turn: Turn): void {
  turn.link.tries = 0
  zeroVariables(turn)
  startT3(turn)
  enter(turn, 'connected')
}

function receiveDisc(turn: Turn, poll: boolean): void {
  const { link } = turn
  if (isOpen(link)) {
    sendUnnumbered(turn, 'UA', poll)
    end(turn, 'peer')
  } else sendUnnumbered(turn, link.name === 'awaitingRelease' ? 'UA' : 'DM', poll)
}

function receiveUa(turn: Turn, final: boolean): void {
  const { link } = turn
  if (link.name === 'disconnected') {
    tellError(turn, 'C')
    tellError(turn, 'D')
  } else if (isOpen(link)) reestablish(turn, link.name === 'connected' ? 'K' : 'N')
  else if (!final) tellError(turn, 'D')
  else if (link.name === 'awaitingRelease') end(turn, 'us')
  else {
    const isNew = link.layer3Initiated || link.sendNext !== link.acknowledged
    if (isNew && !link.layer3Initiated) resetRoundTrip(turn)
    selectT1(turn)
    beginConnected(turn)
    if (isNew) turn.actions.push({ type: 'connected', by: 'us' })
    if (isVersion22(link)) turn.actions.push({ type: 'negotiate' })
    if (link.disconnectWanted) release(turn)
  }
}

function receiveDm(turn: Turn, final: boolean): void {
  const { link } = turn
  if (isOpen(link)) {
    tellError(turn, 'E')
    end(turn, 'peer')
  } else if (link.name !== 'disconnected' && final)
    end(turn, link.name === 'awaitingRelease' ? 'us' : 'peer')
  else if (link.name === 'awaitingConnection22') {
    // An older station that says nothing of SABME: it is asked with SABM at T1.
    setVersion(turn, link.options.version20)
    enter(turn, 'awaitingConnection')
  }
}

/** A station before 2.2 does not know SABME; another one gave up on what it heard. */
function receiveFrmr(turn: Turn): void {
  const { link } = turn
  if (link.name === 'awaitingConnection22') {
    setVersion(turn, link.options.version20)
    resetRoundTrip(turn)
    establish(turn)
    link.layer3Initiated = true
    enter(turn, 'awaitingConnection')
  } else if (isOpen(link)) {
    if (link.name === 'timerRecovery') setVersion(turn, link.options.version20)
    reestablish(turn, 'K')
  }
}

function receiveUnitData(turn: Turn, frame: SessionFrame, poll: boolean): void {
  const { link, actions } = turn
  const { isCommand, payload, pid = 0 } = frame
  if (!isCommand) tellError(turn, 'Q')
  else if (payload.length > link.parameters.informationOctetsMax) tellError(turn, 'K')
  else actions.push({ type: 'unitReceived', data: { pid, payload } satisfies LinkData })
  if (!poll) return
  if (isOpen(link)) {
    const name = link.ownBusy ? 'RNR' : 'RR'
    sendSupervisory(turn, name, { isCommand: false, pollFinal: true })
  } else sendUnnumbered(turn, 'DM', true)
}

const badFrameCodes = { control: 'L', information: 'M', length: 'N' } as const

function receiveBad(turn: Turn, fault: 'control' | 'information' | 'length'): void {
  if (!isOpen(turn.link)) tellError(turn, badFrameCodes[fault])
  else {
    reestablish(turn, badFrameCodes[fault])
    turn.link.layer3Initiated = true
  }
}

function expire(turn: Turn, channelBusy: boolean): void {
  const { link, nowMs } = turn
  if (nowMs < (linkWakesAtMs(link) ?? Infinity)) return
  if (link.t1SinceMs === undefined) expireT3(turn)
  else if (channelBusy) postponeT1(turn)
  else expireT1(turn)
}

function expireT3(turn: Turn): void {
  turn.link.tries = 1
  transmitEnquiry(turn)
  enter(turn, 'timerRecovery')
}

function expireT1(turn: Turn): void {
  const { link } = turn
  const { triesMax } = link.parameters
  stopT1(turn)
  if (link.name === 'connected') {
    narrowWindow(turn)
    link.tries = 1
    selectT1(turn, true)
    transmitEnquiry(turn)
    enter(turn, 'timerRecovery')
  } else if (link.name === 'timerRecovery') {
    if (link.tries >= triesMax) giveUp(turn)
    else {
      link.tries++
      selectT1(turn, true)
      transmitEnquiry(turn)
    }
  } else if (link.tries >= triesMax) {
    tellError(turn, 'G')
    end(turn, 'silence')
  } else {
    link.tries++
    sendUnnumbered(turn, askedWith(link), true)
    selectT1(turn, true)
    startT1(turn)
  }
}

const askedWith = (link: LinkState): 'SABM' | 'SABME' | 'DISC' =>
  link.name === 'awaitingRelease' ? 'DISC' : link.name === 'awaitingConnection22' ? 'SABME' : 'SABM'

function giveUp(turn: Turn): void {
  const { link } = turn
  if (link.sendNext !== link.acknowledged) tellError(turn, 'I')
  else tellError(turn, link.peerBusy ? 'U' : 'T')
  end(turn, 'silence')
  sendUnnumbered(turn, 'DM', false)
}
