import { readFileSync } from 'node:fs'
import type { Control } from '../../src/ax25/control.js'
import { advanceLink } from '../../src/ax25/session/dataLink.js'
import type { LinkAction, LinkEvent } from '../../src/ax25/session/linkEvents.js'
import {
  createLink,
  type LinkState,
  type LinkStateName,
  linkOptionsDefault,
} from '../../src/ax25/session/linkState.js'

/** One way through a column of a figure. */
export interface Row {
  readonly on: string
  readonly path: readonly string[]
  readonly next: string
}

export const published: {
  readonly states: Readonly<Record<string, readonly Row[]>>
  readonly subroutines: Readonly<Record<string, readonly (readonly string[])[]>>
  readonly xid: {
    readonly example_published: { readonly octets_without_flags_and_fcs: string }
  }
} = JSON.parse(readFileSync(new URL('./ax25Link.json', import.meta.url), 'utf8'))

const stateNames: Readonly<Record<string, LinkStateName>> = {
  Disconnected: 'disconnected',
  'Awaiting Connection': 'awaitingConnection',
  'Awaiting Release': 'awaitingRelease',
  Connected: 'connected',
  'Timer Recovery': 'timerRecovery',
  'Awaiting V2.2 Connection': 'awaitingConnection22',
}

const text = (words: string): Uint8Array => new TextEncoder().encode(words)
const nowMs = 100_000

/** What a row says of the state before its event: `[question: answer]`. */
class Conditions {
  readonly answers = new Map<string, string>()
  constructor(path: readonly string[]) {
    for (const step of path) {
      const match = /^\[(.*): (yes|no)\]$/.exec(step)
      if (match) this.answers.set(match[1]!.replaceAll(/\s+/g, ' '), match[2]!)
    }
  }
  /** undefined where the row does not ask */
  is(question: RegExp): boolean | undefined {
    for (const [asked, answer] of this.answers) if (question.test(asked)) return answer === 'yes'
    return undefined
  }
}

/** The state that a row begins in: V(A) 1, V(S) 4, V(R) 5, three I frames unacknowledged, unless it says otherwise. */
function stateBefore(name: LinkStateName, row: Row, conditions: Conditions): LinkState {
  const link = createLink(linkOptionsDefault)
  const { version20, version22 } = linkOptionsDefault
  link.name = name
  link.mayConnect = conditions.is(/Able to Establish/) ?? false
  const is22 = conditions.is(/Version 2.2/) ?? name === 'awaitingConnection22'
  const selective = conditions.is(/SREJ Enabled/) ?? is22
  link.parameters = { ...(is22 ? version22 : version20), selective }
  link.windowFrames = link.parameters.windowFramesMax
  link.layer3Initiated = conditions.is(/Layer 3 Initiated/) ?? false
  link.peerBusy = conditions.is(/Peer (Receiver )?Busy/) ?? false
  link.ownBusy = conditions.is(/Own Receive/) ?? false
  link.rejectOpen = conditions.is(/^Reject Exception/) ?? false
  link.acknowledgePending = conditions.is(/Ack Pending/i) ?? false
  link.tries = conditions.is(/RC == N2/) ? link.parameters.triesMax : 1
  link.receiveNext = 5
  link.acknowledged = 1
  link.sendNext = 4
  for (const number of [1, 2, 3])
    link.sent.set(number, { pid: 0xf0, payload: text(`old ${number}`) })
  const answered = /received/.test(row.on) && /^(RR|RNR|REJ|SREJ)/.test(row.on)
  const setsAcknowledged = answered && !row.path.includes('[F == 1: no]')
  const none = conditions.is(/V\(s\) == V\(a\)$/) && !setsAcknowledged
  if (none || /pops off/.test(row.on)) {
    link.acknowledged = 4
    link.sent.clear()
  }
  // What is handed over leaves the queue at once, unless the peer is busy.
  if (row.on === 'DL DATA request') link.peerBusy = true
  if (conditions.is(/V\(s\) ?== ?V\(a\) ?\+ ?k/)) link.windowFrames = 0
  if (/pops off/.test(row.on)) link.queue.push({ pid: 0xf0, payload: text('new') })
  if (conditions.is(/S[Rr]eject Exception/)) {
    link.selectAsked.add(5)
    link.kept.set(6, { pid: 0xf0, payload: text('kept') })
  }
  const t1Runs = conditions.is(/T1 Running/) ?? (row.on === 'T1 expiry' || answered)
  link.t1SinceMs = t1Runs ? nowMs - (row.on === 'T1 expiry' ? 60_000 : 100) : undefined
  if (row.on === 'T3 expiry') link.t3SinceMs = nowMs - 400_000
  return link
}

/** The N(R) that makes a row's answers true. */
function receiveSequenceOf({ on }: Row, conditions: Conditions): number {
  if (conditions.is(/V\(a\) <= N\(r\)/) === false) return 7
  const unasked = on.startsWith('REJ') || on.startsWith('SREJ') ? 2 : 4
  const all = conditions.is(/V\(s\) == V\(a\)/)
  return all === undefined ? unasked : all ? 4 : 2
}

function eventOf(row: Row, conditions: Conditions): LinkEvent {
  const { on } = row
  const data = { pid: 0xf0, payload: text('data') }
  const simple: Readonly<Record<string, LinkEvent>> = {
    'DL DISCONNECT request': { type: 'disconnect' },
    'DL UNIT DATA request': { type: 'unitData', data },
    'DL CONNECT request': { type: 'connect', version: '2.0' },
    'DL DATA request': { type: 'data', data },
    'DL FLOW OFF request': { type: 'flow', on: false },
    'DL FLOW ON request': { type: 'flow', on: true },
    'LM SEIZE confirm': { type: 'seized' },
    'control field error': { type: 'badFrame', fault: 'control' },
    'info not permitted in frame': { type: 'badFrame', fault: 'information' },
    'u or s frame length error': { type: 'badFrame', fault: 'length' },
    'T1 expiry': { type: 'time', channelBusy: false },
    'T3 expiry': { type: 'time', channelBusy: false },
    'I frame pops off queue': { type: 'time', channelBusy: false },
    'any other primitive from above': { type: 'seized' },
    // Such a frame means nothing in this state: each of them drops it.
    'any other primitive from below': frameEvent({ type: 'U', name: 'unknown', pollFinal: false }),
  }
  return simple[on] ?? receivedEvent(row, conditions)
}

function frameEvent(control: Control, isCommand = false, octets = 4): LinkEvent {
  const payload = new Uint8Array(control.type === 'I' || control.type === 'UI' ? octets : 0)
  return { type: 'frame', frame: { control, isCommand, pid: 0xf0, payload } }
}

function receivedEvent(row: Row, conditions: Conditions): LinkEvent {
  const { on } = row
  const name = on.split(' ')[0]!
  const receiveSequence = receiveSequenceOf(row, conditions)
  const isResponse = conditions.is(/^Response & F == 1/) || conditions.is(/^Response$/)
  const poll =
    conditions.is(/^P == 1$/) ??
    conditions.is(/^P\/F == 1$/) ??
    conditions.is(/^F == 1$/) ??
    (conditions.is(/^Command & P == 1/) || conditions.is(/^Response & F == 1/))
  if (on.startsWith('I,') || on === 'any other command') {
    const control = { type: 'S', name: 'RR', receiveSequence: 0, pollFinal: poll ?? true } as const
    return frameEvent(control, true)
  }
  switch (name) {
    case 'I': {
      const two = conditions.is(/N\(s\) > V\(r\) ?\+ ?1/)
      // 5 and 7 are missing then: 6 is kept, and 0 comes
      const more = conditions.is(/S[Rr]eject Exception/)
      const outOfSequence = more ? 0 : two ? 7 : 6
      const sendSequence = conditions.is(/N\(s\) == V\(r\)/) === false ? outOfSequence : 5
      const control = {
        type: 'I',
        sendSequence,
        receiveSequence,
        pollFinal: poll ?? false,
      } as const
      const octets = conditions.is(/Info Field Length/) === false ? 300 : 4
      return frameEvent(control, conditions.is(/^Command$/) ?? true, octets)
    }
    case 'UI':
      return frameEvent({ type: 'UI', pollFinal: poll ?? false }, true)
    case 'RR':
    case 'RNR':
    case 'REJ':
    case 'SREJ': {
      const control = { type: 'S', name, receiveSequence, pollFinal: poll ?? false } as const
      const isCommand =
        conditions.is(/^Command & P == 1/) ??
        (name === 'SREJ' && conditions.is(/^Response$/) === false)
      return frameEvent(control, isResponse === true ? false : isCommand)
    }
    default: {
      const isCommand = name !== 'UA' && name !== 'DM' && name !== 'FRMR'
      const known = name as 'SABM'
      return frameEvent({ type: 'U', name: known, pollFinal: poll ?? true }, isCommand)
    }
  }
}

/** What a row, or this machine, did, in the same words. */
export interface Outcome {
  readonly done: readonly string[]
  readonly next: string
  /** what the row says of variables and timers, as far as it is comparable */
  readonly marks: Readonly<Record<string, unknown>>
}

export interface Walked {
  readonly expected: Outcome
  readonly found: Outcome
}

/** Walks a row: what it says, and what the machine does. */
export function walk(stateTitle: string, row: Row): Walked {
  const name = stateNames[stateTitle.replace(/^\d /, '')]!
  const conditions = new Conditions(row.path)
  const link = stateBefore(name, row, conditions)
  const event = eventOf(row, conditions)
  const before = { is22: link.parameters.modulo === 128, ownBusy: link.ownBusy }
  const expected = expectedOf(row, event, before)
  const keptBefore = link.kept.size
  const actions = advanceLink(link, event, nowMs)
  const marks: Record<string, unknown> = {}
  for (const mark of Object.keys(expected.marks)) marks[mark] = marksOf(link, keptBefore)[mark]
  const next = Object.entries(stateNames).find(([, value]) => value === link.name)![0]
  return { expected, found: { done: actions.map(describe), next, marks } }
}

function marksOf(link: LinkState, keptBefore: number): Record<string, unknown> {
  return {
    'V(s)': link.sendNext,
    'V(a)': link.acknowledged,
    'V(r)': link.receiveNext,
    RC: link.tries,
    T1: link.t1SinceMs !== undefined,
    T3: link.t3SinceMs !== undefined,
    layer3: link.layer3Initiated,
    peerBusy: link.peerBusy,
    ownBusy: link.ownBusy,
    rejectOpen: link.rejectOpen,
    pending: link.acknowledgePending,
    modulo: link.parameters.modulo,
    queueEmpty: link.queue.length === 0,
    kept: link.kept.size - keptBefore,
  }
}

function describe(action: LinkAction): string {
  switch (action.type) {
    case 'send': {
      const { control, isCommand } = action.frame
      const name = 'name' in control ? control.name : control.type
      const number =
        control.type === 'I'
          ? ` ${control.sendSequence}`
          : name === 'SREJ' && 'receiveSequence' in control
            ? ` ${control.receiveSequence}`
            : ''
      return `${name}${number} ${isCommand ? 'command' : 'response'} ${control.pollFinal ? 1 : 0}`
    }
    case 'error':
      return `error ${action.code}`
    default:
      return action.type
  }
}

/** A row's steps in the words of `describe` and `marksOf`. */
function expectedOf(
  row: Row,
  event: LinkEvent,
  before: { readonly is22: boolean; readonly ownBusy: boolean },
): Outcome {
  const done: string[] = []
  const marks: Record<string, unknown> = {}
  const frame = event.type === 'frame' ? event.frame : undefined
  const poll = frame?.control.pollFinal ? 1 : 0
  const old = [1, 2, 3].map((number) => `I ${number} command 0`)
  let f: number | undefined
  let receiveSequence = 5
  const establish = (): void => {
    done.push(`${before.is22 || marks.modulo === 128 ? 'SABME' : 'SABM'} command 1`)
    Object.assign(marks, {
      RC: 1,
      T1: true,
      T3: false,
      queueEmpty: true,
      pending: false,
      peerBusy: false,
    })
  }
  for (const step of row.path) {
    const sent = /^send: (Expedited )?([A-Z]+)\b ?(Command|Response)?(.*)$/.exec(step)
    const assigned = /^(V\([sar]\)|RC) := (\d)$/.exec(step)
    if (step === 'F := P') f = poll
    else if (step === 'F := 1') f = 1
    else if (step === 'F := 0') f = 0
    else if (step === 'N(r) := N(s)') receiveSequence = 0
    else if (assigned) marks[assigned[1]!] = Number(assigned[2])
    else if (step === 'send: LM-SEIZE Request' || step === 'send: LM-SIEZE Request')
      done.push('seize')
    else if (sent && sent[2] !== 'LM') {
      const name = sent[2]!
      const isCommand = sent[3] === 'Command' || /^(SABM|SABME|DISC)$/.test(name)
      const given = /= ?=? ?(\d)/.exec(sent[4]!)?.[1] ?? /F=(\d)/.exec(sent[4]!)?.[1]
      const pf = given ?? (name === 'UA' || name === 'DM' || !isCommand ? (f ?? 0) : 0)
      const number = name === 'I' ? ' 4' : name === 'SREJ' ? ` ${receiveSequence}` : ''
      const isExpeditedAnswer = sent[1] !== undefined && name === 'UA'
      done.push(
        `${name}${number} ${isCommand ? 'command' : 'response'} ${isExpeditedAnswer ? poll : sent[1] && frame ? poll : pf}`,
      )
    } else apply(step, { done, marks, old, establish, frame: frame?.control })
  }
  return { done, next: row.next, marks }
}

interface Expecting {
  readonly done: string[]
  readonly marks: Record<string, unknown>
  readonly old: readonly string[]
  readonly establish: () => void
  readonly frame: Control | undefined
}

/** Steps other than assignments and frames. */
function apply(step: string, { done, marks, old, establish, frame }: Expecting): void {
  const ups: readonly [RegExp, readonly string[]][] = [
    [/^up: DL.?CONNECT/i, ['connected']],
    [/^up: DL.?DISCONNECT/i, ['disconnected']],
    [/^up: DL.?DATA/i, ['received']],
    [/^up: DL.?UNIT/i, ['unitReceived']],
  ]
  for (const [pattern, words] of ups) if (pattern.test(step)) done.push(...words)
  const codes = /^up: DL-ERROR indication \((.*)\)/i.exec(step)?.[1]
  for (const code of codes?.split(',') ?? []) done.push(`error ${code}`)
  if (/^do: Establish/.test(step)) establish()
  if (/^do: N\(r\)/.test(step)) {
    done.push('error J')
    establish()
    marks.layer3 = false
  }
  if (step === 'do: UI Check') done.push('unitReceived')
  if (/^do: Transmit Enq/.test(step)) {
    done.push('RR command 1')
    marks.T1 = true
  }
  const answered = /^do: Enquiry Response \(F = (\d)\)/.exec(step)
  if (answered) done.push(`RR response ${answered[1]}`)
  const from = frame !== undefined && 'receiveSequence' in frame ? frame.receiveSequence : 1
  // A busy peer gets them later.
  if (/^do: Invoke Retransmission/.test(step) && marks.peerBusy !== true)
    done.push(...old.slice(from - 1))
  if (/^queue: Push/.test(step)) {
    if (frame?.type === 'S') done.push(...old.slice(from - 1, from))
    else marks.queueEmpty = false
  }
  const states: Readonly<Record<string, Record<string, unknown>>> = {
    'Set Layer 3 Initiated': { layer3: true },
    'Clear Layer 3 Initiated': { layer3: false },
    'Set Version 2.0': { modulo: 8 },
    'Set Version 2.2': { modulo: 128 },
    'Set Peer Busy': { peerBusy: true },
    'Clear Peer Busy': { peerBusy: false },
    'Set Own Receiver Busy': { ownBusy: true },
    'Clear Own Receiver Busy': { ownBusy: false },
    'Set Reject Exception': { rejectOpen: true },
    'Clear Reject Exception': { rejectOpen: false },
    'Clear Acknowledge Pending': { pending: false },
    'Set Acknowledge Pending': { pending: true },
    'Set Acknowledgement Pending': { pending: true },
    'do: Clear Exception Conditions': { queueEmpty: true, rejectOpen: false, peerBusy: false },
    'Discard Frame Queue': { queueEmpty: true },
    'Discard Queue': { queueEmpty: true },
    'Discard I Frame Queue': { queueEmpty: true },
    'queue: MDL-NEGOTIATE Request': {},
    'Start T1': { T1: true },
    'Stop T1': { T1: false },
    'Start T3': { T3: true, T1: false },
    'Stop T3': { T3: false },
    'Save Contents of I Frame': { kept: 1 },
    'V(r) := V(r) + 1': { 'V(r)': 6 },
    'V(s) := V(s) + 1': { 'V(s)': 5 },
    'Discard Contents of I Frame': { kept: 0 },
  }
  Object.assign(marks, states[step] ?? {})
  if (step === 'queue: MDL-NEGOTIATE Request') done.push('negotiate')
}
