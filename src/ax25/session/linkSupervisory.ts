import type { Control } from '../control.js'
import type { SessionFrame } from './linkEvents.js'
import {
  checkAcknowledged,
  enquiryResponse,
  enter,
  invokeRetransmission,
  isInWindow,
  narrowWindow,
  reestablish,
  selectT1,
  sendOneAgain,
  setAcknowledged,
  startT1,
  startT3,
  stopT1,
  type Turn,
  tellError,
} from './linkSteps.js'

type Supervisory = Extract<Control, { type: 'S' }>

/** RR, RNR, REJ and SREJ in the states Connected and Timer Recovery (figures C4.4 and C4.5). */
export function receiveSupervisory(turn: Turn, frame: SessionFrame, control: Supervisory): void {
  const { link } = turn
  link.peerBusy = control.name === 'RNR'
  if (link.name === 'connected') receiveConnected(turn, frame, control)
  else if (control.name === 'SREJ' && !frame.isCommand) receiveAnswer(turn, control)
  else if (!frame.isCommand && control.pollFinal) receiveAnswer(turn, control)
  else receiveWhileWaiting(turn, frame, control)
}

function receiveConnected(turn: Turn, frame: SessionFrame, control: Supervisory): void {
  const { link } = turn
  const { name, receiveSequence, pollFinal } = control
  if (frame.isCommand && pollFinal) enquiryResponse(turn, true)
  else if (!frame.isCommand && pollFinal && name !== 'SREJ') tellError(turn, 'A')
  if (!isInWindow(link, receiveSequence)) reestablish(turn, 'J')
  else if (name === 'SREJ') resendSelected(turn, control)
  else if (name === 'REJ') {
    setAcknowledged(turn, receiveSequence)
    selectT1(turn)
    resendAll(turn)
  } else checkAcknowledged(turn, receiveSequence)
}

/** Only the frame that is asked for is sent again (6.4.8). */
function resendSelected(turn: Turn, { receiveSequence, pollFinal }: Supervisory): void {
  const { link } = turn
  if (pollFinal) setAcknowledged(turn, receiveSequence)
  selectT1(turn)
  sendOneAgain(turn, receiveSequence)
  link.acknowledgePending = false
  if (link.sendNext === link.acknowledged) startT3(turn)
  else startT1(turn)
}

function resendAll(turn: Turn): void {
  const { link } = turn
  narrowWindow(turn)
  link.acknowledgePending = false
  if (link.sendNext === link.acknowledged) startT3(turn)
  else {
    startT1(turn)
    invokeRetransmission(turn)
  }
}

/** The answer to our poll, or a SREJ, which is one by its nature: it shows that the other hears us. */
function receiveAnswer(turn: Turn, control: Supervisory): void {
  const { link } = turn
  const { name, receiveSequence, pollFinal } = control
  selectT1(turn)
  stopT1(turn)
  if (!isInWindow(link, receiveSequence)) {
    reestablish(turn, 'J')
    return
  }
  const moved = (name !== 'SREJ' || pollFinal) && setAcknowledged(turn, receiveSequence)
  // N2 counts tries without an answer; who only says 'I am here' and takes nothing is let go after as many.
  link.answersInVain = moved || name === 'RNR' ? 0 : link.answersInVain + 1
  link.tries = link.answersInVain >= link.parameters.triesMax ? link.parameters.triesMax : 0
  if (link.sendNext === link.acknowledged) {
    link.tries = 0
    link.answersInVain = 0
    startT3(turn)
    enter(turn, 'connected')
    return
  }
  if (name === 'SREJ') sendOneAgain(turn, receiveSequence)
  else invokeRetransmission(turn)
  link.acknowledgePending = false
  startT1(turn)
}

/** Until our poll is answered, other frames only say how far the other came. */
function receiveWhileWaiting(turn: Turn, frame: SessionFrame, control: Supervisory): void {
  const { link } = turn
  const { name, receiveSequence, pollFinal } = control
  if (frame.isCommand && pollFinal && name !== 'SREJ') enquiryResponse(turn, true)
  if (!isInWindow(link, receiveSequence)) {
    reestablish(turn, 'J')
    return
  }
  if (name === 'SREJ') {
    if (pollFinal) checkAcknowledged(turn, receiveSequence)
    sendOneAgain(turn, receiveSequence)
    return
  }
  setAcknowledged(turn, receiveSequence)
  if (name === 'REJ' && link.sendNext !== link.acknowledged) resendAll(turn)
}
