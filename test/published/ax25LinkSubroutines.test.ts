import { describe, expect, it } from 'vitest'
import { advanceLink } from '../../src/ax25/session/dataLink.js'
import type { LinkAction } from '../../src/ax25/session/linkEvents.js'
import { createLink, type LinkState, linkOptionsDefault } from '../../src/ax25/session/linkState.js'
import {
  checkAcknowledged,
  clearExceptions,
  enquiryResponse,
  establish,
  invokeRetransmission,
  reestablish,
  selectT1,
  sendQueued,
  setVersion,
  type Turn,
  transmitEnquiry,
} from '../../src/ax25/session/linkSteps.js'
import { published } from './ax25LinkRows.js'

/* The 13 subroutines of figure C4.7 (AX.25 v2.2, revision 4 of October 2025), each way through each. */

const { version20, version22 } = linkOptionsDefault
const data = (text: string) => ({ pid: 0xf0, payload: new TextEncoder().encode(text) })

/** Three I frames (1 to 3) unacknowledged, V(R) 5. */
function turnWith(change: Partial<LinkState> = {}): Turn {
  const link = createLink(linkOptionsDefault)
  Object.assign(link, {
    name: 'connected',
    acknowledged: 1,
    sendNext: 4,
    receiveNext: 5,
    ...change,
  })
  for (const number of [1, 2, 3]) link.sent.set(number, data(`${number}`))
  return { link, nowMs: 50_000, actions: [] }
}

const words = (actions: readonly LinkAction[]): string[] =>
  actions.map((action) => {
    if (action.type === 'error') return `error ${action.code}`
    if (action.type !== 'send') return action.type
    const { control, isCommand } = action.frame
    const name = 'name' in control ? control.name : control.type
    const number = 'receiveSequence' in control ? ` ${control.receiveSequence}` : ''
    return `${name}${number} ${isCommand ? 'command' : 'response'} ${control.pollFinal ? 1 : 0}`
  })

it('are 13, with so many ways through each', () => {
  const ways = Object.fromEntries(
    Object.entries(published.subroutines).map(([name, paths]) => [name, paths.length]),
  )
  expect(ways).toEqual({
    ...{ 'Set Version 2 2': 1, 'Set Version 2 0': 1, 'UI Check': 3, 'Select T1': 3 },
    ...{ 'Check Need for Response': 3, 'Establish Extended Data Link': 2 },
    ...{ 'Establish Data Link': 2, 'Invoke Retransmission': 1, 'Check I Frame Acknowledged': 5 },
    ...{ 'Clear Exception Conditions': 1, 'N r Error Recovery': 1, 'Transmit Enquiry': 2 },
    'Enquiry Response': 7,
  })
})

it('Set Version 2.0 and 2.2: k 7 where the figure says 8 (the text, and modulo 8 allows no more)', () => {
  const turn = turnWith()
  setVersion(turn, version22)
  expect(turn.link.parameters).toMatchObject({
    ...{
      modulo: 128,
      selective: true,
      informationOctetsMax: 256,
      windowFramesMax: 32,
      triesMax: 10,
    },
  })
  setVersion(turn, version20)
  expect(turn.link.parameters).toMatchObject({
    ...{ modulo: 8, selective: false, informationOctetsMax: 256, windowFramesMax: 7, triesMax: 10 },
  })
})

describe('UI Check', () => {
  const check = (isCommand: boolean, octets: number): string[] => {
    const control = { type: 'UI', pollFinal: false } as const
    const frame = { control, isCommand, pid: 0xf0, payload: new Uint8Array(octets) }
    return words(advanceLink(turnWith().link, { type: 'frame', frame }, 0)).filter(
      (word) => word === 'unitReceived' || word.startsWith('error'),
    )
  }
  it('a response is an error', () => expect(check(false, 4)).toEqual(['error Q']))
  it('a command is handed up', () => expect(check(true, 256)).toEqual(['unitReceived']))
  it('one that is too long is an error', () => expect(check(true, 257)).toEqual(['error K']))
})

describe('Select T1', () => {
  it('RC = 0: SRT = 7/8 SRT + what T1 had run / 8; T1 = 2 SRT', () => {
    const turn = turnWith({ tries: 0, roundTripMs: 1600, t1Ms: 3200, t1SinceMs: 50_000 - 2400 })
    selectT1(turn)
    expect(turn.link).toMatchObject({ roundTripMs: 1700, t1Ms: 3400 })
  })
  it('RC > 0, T1 not expired: as it is', () => {
    const turn = turnWith({ tries: 2, roundTripMs: 1600, t1Ms: 3200, t1SinceMs: 49_000 })
    selectT1(turn)
    expect(turn.link).toMatchObject({ roundTripMs: 1600, t1Ms: 3200 })
  })
  it('RC > 0, T1 expired: a quarter of a second more for each', () => {
    const turn = turnWith({ tries: 2, roundTripMs: 1600, t1Ms: 3200 })
    selectT1(turn, true)
    expect(turn.link.t1Ms).toBe(3700)
  })
})

describe('Check Need for Response', () => {
  const heard = (isCommand: boolean, pollFinal: boolean): string[] => {
    const control = { type: 'S', name: 'RR', receiveSequence: 4, pollFinal } as const
    const frame = { control, isCommand, payload: new Uint8Array() }
    return words(advanceLink(turnWith().link, { type: 'frame', frame }, 0))
  }
  it('a poll is answered', () => expect(heard(true, true)).toEqual(['RR 5 response 1']))
  it('a response without F is not', () => expect(heard(false, false)).toEqual([]))
  it('an answer that nobody asked for is an error', () =>
    expect(heard(false, true)).toEqual(['error A']))
})

describe.each([
  ['modulo 8', version20, 'SABM'],
  ['modulo 128', version22, 'SABME'],
])('Establish (Extended) Data Link, %s', (_, parameters, name) => {
  it(`sends ${name} with P = 1`, () => {
    const turn = turnWith({ parameters, t3SinceMs: 1, ownBusy: true, tries: 7 })
    establish(turn)
    expect(words(turn.actions)).toEqual([`${name} command 1`])
    expect(turn.link).toMatchObject({
      ...{ tries: 1, t3SinceMs: undefined, t1SinceMs: 50_000, ownBusy: false },
    })
  })
})

it('Invoke Retransmission: all from N(R) on, V(S) stays', () => {
  const turn = turnWith({ acknowledged: 2, parameters: version20 })
  invokeRetransmission(turn)
  expect(turn.link).toMatchObject({ again: [2, 3], sendNext: 4 })
  sendQueued(turn)
  expect(words(turn.actions)).toEqual(['I 5 command 0', 'I 5 command 0'])
})

describe('Check I Frame Acknowledged', () => {
  it('peer busy, T1 runs', () => {
    const turn = turnWith({ peerBusy: true, t1SinceMs: 49_000 })
    checkAcknowledged(turn, 3)
    expect(turn.link).toMatchObject({ acknowledged: 3, t1SinceMs: 49_000, t3SinceMs: undefined })
  })
  it('peer busy, T1 does not run', () => {
    const turn = turnWith({ peerBusy: true, t3SinceMs: 49_000 })
    checkAcknowledged(turn, 3)
    expect(turn.link).toMatchObject({ acknowledged: 3, t1SinceMs: 50_000, t3SinceMs: undefined })
  })
  it('all is acknowledged', () => {
    const turn = turnWith({ t1SinceMs: 49_000 })
    checkAcknowledged(turn, 4)
    expect(turn.link).toMatchObject({ acknowledged: 4, t1SinceMs: undefined, t3SinceMs: 50_000 })
    expect(turn.link.sent.size).toBe(0)
  })
  it('nothing new is', () => {
    const turn = turnWith({ t1SinceMs: 49_000 })
    checkAcknowledged(turn, 1)
    expect(turn.link).toMatchObject({ acknowledged: 1, t1SinceMs: 49_000 })
  })
  it('some is', () => {
    const turn = turnWith({ t1SinceMs: 49_000 })
    checkAcknowledged(turn, 2)
    expect(turn.link).toMatchObject({ acknowledged: 2, t1SinceMs: 50_000 })
  })
})

it('Clear Exception Conditions', () => {
  const turn = turnWith({
    peerBusy: true,
    ownBusy: true,
    rejectOpen: true,
    acknowledgePending: true,
  })
  turn.link.selectAsked.add(5)
  turn.link.queue.push(data('x'))
  clearExceptions(turn)
  expect(turn.link).toMatchObject({
    ...{ peerBusy: false, ownBusy: false, rejectOpen: false, acknowledgePending: false, queue: [] },
  })
  expect(turn.link.selectAsked.size).toBe(0)
})

it('N(r) Error Recovery', () => {
  const turn = turnWith({ layer3Initiated: true })
  reestablish(turn, 'J')
  expect(words(turn.actions)).toEqual(['error J', 'SABM command 1'])
  expect(turn.link).toMatchObject({ layer3Initiated: false, name: 'awaitingConnection' })
})

describe.each([
  [false, 'RR'],
  [true, 'RNR'],
])('Transmit Enquiry, own receiver busy: %s', (ownBusy, name) => {
  it(`sends ${name} as a command with P = 1`, () => {
    const turn = turnWith({ ownBusy, acknowledgePending: true })
    transmitEnquiry(turn)
    expect(words(turn.actions)).toEqual([`${name} 5 command 1`])
    expect(turn.link).toMatchObject({ acknowledgePending: false, t1SinceMs: 50_000 })
  })
})

describe('Enquiry Response', () => {
  const selective8 = { ...version20, selective: true }
  const answer = (change: Partial<LinkState>, pollFinal: boolean, gap = false): string[] => {
    const turn = turnWith({ ...change, acknowledgePending: true })
    if (gap) turn.link.kept.set(7, data('later'))
    enquiryResponse(turn, pollFinal)
    expect(turn.link.acknowledgePending).toBe(false)
    return words(turn.actions)
  }
  it('busy', () => expect(answer({ ownBusy: true }, true)).toEqual(['RNR 5 response 1']))
  // The figure sends SREJ and RR after it; the RR would have all sent again that the SREJ spares.
  it.each([
    ['modulo 8', selective8],
    ['modulo 128', version22],
  ])(
    'SREJ, %s, a gap: asks for what is missing, without the error that the figure adds',
    (_, parameters) => expect(answer({ parameters }, true, true)).toEqual(['SREJ 5 response 1']),
  )
  it.each([
    ['modulo 8', selective8],
    ['modulo 128', version22],
  ])('SREJ, %s, no gap', (_, parameters) =>
    expect(answer({ parameters }, true)).toEqual(['RR 5 response 1']),
  )
  it('REJ', () => expect(answer({ parameters: version20 }, true)).toEqual(['RR 5 response 1']))
  it('without F', () =>
    expect(answer({ parameters: version22 }, false, true)).toEqual(['RR 5 response 0']))
})
