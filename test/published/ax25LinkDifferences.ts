import type { Outcome, Row } from './ax25LinkRows.js'

/** Where the machine does not do what a figure says, with what it does, and why. */
export interface Difference {
  readonly state: string
  readonly on: string
  /** a step that only the rows meant have; each row of the state and event where absent */
  readonly step?: string
  /** one more step that they have */
  readonly only?: string
  readonly instead: Partial<Outcome>
  readonly why: string
}

const flowOff =
  'the answers to "Own Receiver Busy" are turned round in the figures; text 6.4.10: RNR as soon as busy'
const awaits =
  'the same event leads from Connected to Awaiting Connection; a SABM that nobody waits for an answer to would come to nothing'
const carried =
  'what goes out says how far all came, so nothing is owed; nobody would ask for the channel'
const onlyOne = 'text 6.4.8: frames after the one that SREJ asks for are not sent again'
const missing =
  'text 6.4.4.2: what is missing is asked for, each frame once; not the frame that came, nor the first again'
const collision = 'text 6.3.6.2: when SABM and SABME cross, both send DM and are disconnected'
const idle = 'in Connected without T1 it is T3 that notices a peer that went away (text 6.7.1.3)'

export const differences: readonly Difference[] = [
  {
    ...{ state: '1 Awaiting Connection', on: 'SABME received', why: collision },
    instead: { done: ['DM response 1', 'disconnected'], next: 'Disconnected' },
  },
  {
    ...{ state: '5 Awaiting V2.2 Connection', on: 'SABM received', why: collision },
    instead: {
      done: ['DM response 1', 'disconnected'],
      next: 'Disconnected',
      marks: { modulo: 128 },
    },
  },
  ...['3 Connected', '4 Timer Recovery'].flatMap((state) => [
    {
      ...{ state, on: 'DL FLOW OFF request', step: '[Own Receiver Busy: yes]', why: flowOff },
      instead: { done: [] },
    },
    {
      ...{ state, on: 'DL FLOW OFF request', step: '[Own Receiver Busy: no]', why: flowOff },
      instead: { done: ['RNR response 0'] },
    },
  ]),
  {
    ...{ state: '3 Connected', on: 'DISC received', instead: { marks: { T1: false } } },
    why: 'nothing waits for an answer in Disconnected; the figure of Timer Recovery stops T1, too',
  },
  {
    ...{ state: '3 Connected', on: 'I received', step: 'N(r) := N(s)', why: missing },
    instead: { done: ['SREJ 7 response 0'] },
  },
  {
    ...{ state: '4 Timer Recovery', on: 'I received', step: 'F := 0', why: missing },
    instead: { done: ['SREJ 7 response 0'] },
  },
  {
    ...{ state: '3 Connected', on: 'I received', step: 'send: RR' },
    instead: { done: ['RNR response 1'] },
    why: 'text 6.4.10: while busy, polls are answered with RNR, F = 1; as in Timer Recovery',
    only: '[Own Receiver Busy: yes]',
  },
  ...[
    'DL CONNECT request',
    'control field error',
    'info not permitted in frame',
    'u or s frame length error',
  ].map((on) => ({
    ...{ state: '4 Timer Recovery', on, why: awaits },
    instead: { next: 'Awaiting Connection' },
  })),
  ...['RR received', 'RNR received'].flatMap((on) => [
    {
      ...{ state: '4 Timer Recovery', on, why: awaits },
      step: '[Command & P == 1: no]',
      only: 'do: N(r) Recovery',
      instead: { next: 'Awaiting Connection' },
    },
    {
      ...{ state: '4 Timer Recovery', on, step: 'Set Acknowledge Pending', why: carried },
      instead: { marks: { pending: false } },
    },
  ]),
  {
    ...{
      state: '4 Timer Recovery',
      on: 'I received',
      step: 'Set Acknowledge Pending',
      only: '[Reject Exception: no]',
      why: carried,
    },
    instead: { marks: { pending: false } },
  },
  ...['SABM received', 'SABME received'].map((on) => ({
    ...{ state: '4 Timer Recovery', on, step: 'Stop T3', why: idle },
    instead: { marks: { T3: true } },
  })),
  {
    ...{ state: '4 Timer Recovery', on: 'SREJ received', why: onlyOne },
    step: 'do: Invoke Retransmission',
    instead: { done: ['I 2 command 0'] },
  },
  {
    ...{ state: '5 Awaiting V2.2 Connection', on: 'DL DATA request' },
    step: '[Layer 3 Initiated: no]',
    instead: { marks: { queueEmpty: true } },
    why: 'which answer goes which way is unlabelled in the drawing; as in figure C4.2, data waits for a connection that was asked for',
  },
  ...['[P == 1: no]', '[P == 1: yes]'].map((step) => ({
    ...{ state: '5 Awaiting V2.2 Connection', on: 'UI received', step },
    instead: { done: step.includes('yes') ? ['unitReceived', 'DM response 1'] : ['unitReceived'] },
    why: 'text 4.3.3.6: a UI with P = 1 gets DM with F = 1; the figure has the answers turned round',
  })),
  {
    ...{ state: '5 Awaiting V2.2 Connection', on: 'FRMR received' },
    instead: { done: ['SABM command 1'] },
    why: 'text 6.3.2: whoever answers SABME with FRMR is asked with SABM, so the version is set first',
  },
]

export const differencesOf = (state: string, row: Row): readonly Difference[] =>
  differences.filter(
    (one) =>
      one.state === state &&
      one.on === row.on &&
      [one.step, one.only].every((step) => step === undefined || row.path.includes(step)),
  )
