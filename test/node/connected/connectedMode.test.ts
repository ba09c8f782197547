import { describe, expect, it } from 'vitest'
import type { Session } from '../../../src/node/connected/session.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { collectService } from '../../../src/services/mailbox.js'
import type { MailboxView, Service } from '../../../src/services/service.js'
import type { NewMailboxEntry } from '../../../src/store/mailbox.js'
import { openTestStore } from '../../store/openTestStore.js'
import { failingStore } from '../failingStore.js'
import { ConnectedBench } from './connectedBench.js'

const serviceOf = (keyword: string, answer: Service['answer']): Service => ({
  ...{ keyword, summary: keyword, usage: keyword, takes: 'text', answer },
})

/** Keeps a count, has somebody told, and fails where it is asked to. */
const ledger = serviceOf('ledger', ({ rest }, { storage, effects }) => {
  const count = Number(storage.read('ledger').get('count') ?? 0)
  if (rest === 'read') return `it stands at ${count}`
  storage.write('ledger', new Map([['count', String(count + 1)]]))
  effects.send('ledger', 'Q1ABC', `count ${count + 1}`)
  if (rest === 'fail') throw new Error('out of ink')
  return `noted as ${count + 1}`
})

const hourMs = 3_600_000
const leftFor = (
  bench: ConnectedBench,
  questionId: string,
  to: string,
  entry: Partial<NewMailboxEntry> = {},
): void => {
  const { store, clock } = bench.test
  const times = { leftWallMs: clock.wallMs(), expiresWallMs: clock.wallMs() + 24 * hourMs }
  const left = { questionId, from: 'Q7LAP', to, text: 'bring rope', expiryTrusted: true, ...times }
  store.durably('a message', () => store.mailbox.insert({ ...left, ...entry }))
}

const eventsOf = (bench: ConnectedBench, ...kinds: string[]): unknown[] =>
  bench.test.events
    .filter(({ kind }) => kinds.includes(kind))
    .map(({ atWallMs, ...event }) => event)

describe('what is asked over a connection', () => {
  it('is in the log with its station and radio, long answers up to a thousand characters', async () => {
    const bench = new ConnectedBench('', { services: [serviceOf('tell', () => 'x'.repeat(1_200))] })
    const peer = await bench.connect('Q7LAP')
    expect(await bench.say(peer, 'tell me\r', 120)).toBe(`${'x'.repeat(1_200)}\rQ2VAN-5>\r`)
    const detail = { station: 'Q7LAP', radio: 0 }
    expect(eventsOf(bench, 'asked', 'answered')).toEqual([
      { kind: 'asked', text: 'tell me', ...detail },
      { kind: 'answered', text: 'x'.repeat(1_000), ...detail },
    ])
  })

  it('is kept and sent with its answer', async () => {
    const bench = new ConnectedBench('', { services: [ledger] })
    const peer = await bench.connect('Q7LAP')
    expect(await bench.say(peer, 'ledger\r')).toBe('noted as 1\rQ2VAN-5>\r')
    expect(bench.test.store.serviceData.all('ledger')).toEqual(new Map([['count', '1']]))
    expect(bench.test.sentTexts()).toContainEqual(expect.stringMatching(/^:Q1ABC {4}:count 1\{/))
    expect(eventsOf(bench, 'fault')).toEqual([])
  })

  it('leaves nothing of a service that failed, which the log says', async () => {
    const bench = new ConnectedBench('', { services: [ledger] })
    const peer = await bench.connect('Q7LAP')
    expect(await bench.say(peer, 'ledger fail\r')).toBe(
      'Sorry, ledger does not work here just now.\rQ2VAN-5>\r',
    )
    expect(eventsOf(bench, 'fault')).toEqual([
      { kind: 'fault', text: 'ledger fail', station: 'Q7LAP', reason: 'ledger: out of ink' },
    ])
    expect(await bench.say(peer, 'ledger read\r')).toContain('it stands at 0')
    expect(bench.test.store.serviceData.all('ledger')).toEqual(new Map())
    expect(bench.test.sentTexts().join()).not.toContain('count')
  })

  it('is not answered as done where it could not be kept; what keeps nothing is answered', async () => {
    const clock = virtualClock()
    const { store, faults } = openTestStore(':memory:', clock)
    const doing = 'what a service keeps'
    const failing = failingStore(store, (what) => what === doing)
    const bench = new ConnectedBench('', { services: [ledger], store: failing, clock })
    const peer = await bench.connect('Q7LAP')
    expect(await bench.say(peer, 'ledger\r')).toBe(
      'Sorry, that does not work here just now.\rQ2VAN-5>\r',
    )
    expect(faults.map(({ message }) => message)).toEqual([expect.stringContaining(doing)])
    expect(bench.test.sentTexts().join()).not.toContain('count')
    expect(await bench.say(peer, 'ledger read\r')).toBe('it stands at 0\rQ2VAN-5>\r')
    expect(faults).toHaveLength(1)
    expect(eventsOf(bench, 'fault')).toEqual([])
  })

  it('may break the node: the log says what was asked of it, and why', async () => {
    const { store, clock } = openTestStore()
    const bench = new ConnectedBench('', { services: [ledger], store, clock })
    const peer = await bench.connect('Q7LAP')
    const { find } = store.stations
    Object.assign(store.stations, {
      find: () => {
        throw new Error('a mistake')
      },
    })
    const said = await bench.say(peer, 'ledger read\r')
    Object.assign(store.stations, { find })
    expect(said).toBe('Sorry, that does not work here just now.\rQ2VAN-5>\r')
    expect(eventsOf(bench, 'fault')).toContainEqual({
      ...{ kind: 'fault', text: 'ledger read', station: 'Q7LAP', radio: 0, reason: 'a mistake' },
    })
  })

  it('may be help: marked as said by the station itself', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    await bench.say(peer, 'sos leg broken\r')
    expect(eventsOf(bench, 'emergency')).toEqual([
      {
        ...{ kind: 'emergency', station: 'Q7LAP', radio: 0 },
        text: expect.stringMatching(/^sos: .*leg broken/),
      },
    ])
  })
})

describe('messages over a connection', () => {
  it('are told with their age', async () => {
    const bench = new ConnectedBench()
    leftFor(bench, 'q1', 'Q1ABC', { leftWallMs: bench.test.clock.wallMs() - 3 * hourMs })
    const peer = await bench.connect('Q1ABC')
    expect(await bench.say(peer, 'collect\r')).toContain('From Q7LAP, 3h ago: bring rope')
  })

  it('are handed out to who asks for them in its own words, too', async () => {
    const bench = new ConnectedBench('', { services: [collectService] })
    leftFor(bench, 'q1', 'Q1ABC')
    const peer = await bench.connect('Q1ABC')
    const asked = 'any messages for me?\r'
    expect(await bench.say(peer, asked)).toContain('From Q7LAP, just now: bring rope\rQ2VAN-5>\r')
    expect(bench.test.store.mailbox.find(1)?.state).toBe('delivered')
    expect(await bench.say(peer, asked)).toBe('No messages for you.\rQ2VAN-5>\r')
  })

  it('are left, looked for and taken back by services as over the air, but handed out by the terminal alone', async () => {
    let seen: unknown
    const probe = serviceOf('probe', (question, { mailbox }) => {
      seen = seenIn(mailbox, question)
      return 'done'
    })
    const bench = new ConnectedBench('', { services: [probe] })
    leftFor(bench, 'q1', 'Q7LAP', { from: 'Q7HUT' })
    const peer = await bench.connect('Q7LAP')
    await bench.say(peer, 'collect\r')
    leftFor(bench, 'q2', 'Q7LAP', { from: 'Q7TENT' })
    leftFor(bench, 'q3>Q1A', 'Q1A', { text: 'to both' })
    leftFor(bench, 'q3>Q1B', 'Q1B', { text: 'to both' })
    expect(await bench.say(peer, 'probe\r')).toContain('From Q7TENT, just now: bring rope')
    const receivers = ['Q1A', 'Q1B'].map((to) => ({ to, state: 'waiting' }))
    expect(seen).toEqual({
      left: { ok: true, waitingCount: 1, keptMs: expect.any(Number) },
      waiting: ['bring water'],
      last: 'Q7HUT',
      several: { text: 'to both', receivers },
      leftBy: ['bring water', 'to both'],
      withdrawn: { kind: 'withdrawn', to: 'Q1ABC', perhaps: false },
      collected: [],
    })
    const { messages } = bench.test.store
    expect(messages.open().map(({ kind }) => kind)).not.toContain('mailbox')
  })
})

function seenIn(mailbox: MailboxView, question: Parameters<MailboxView['collect']>[0]) {
  const left = mailbox.leave(question, 'Q1ABC', 'bring water')
  const leftBy = mailbox.leftBy?.('Q7LAP') ?? []
  return {
    left,
    waiting: mailbox.waitingFor('Q1ABC').map(({ text }) => text),
    last: mailbox.lastCollectedFrom?.('Q7LAP'),
    several: mailbox.leftForSeveral?.('Q7LAP'),
    leftBy: leftBy.map(({ text }) => text),
    withdrawn: mailbox.withdraw?.(question, leftBy[0]?.number ?? ''),
    collected: mailbox.collect(question),
  }
}

it('another node that connects finds a session of its own, everybody else the terminal', async () => {
  const begun: string[] = []
  const quiet: Omit<Session, 'begin'> = {
    receive: () => {},
    drained: () => {},
    reset: () => {},
    ended: () => {},
  }
  const bench = new ConnectedBench('', {}, (call) =>
    call === 'Q2HUT-5'
      ? (peer) => ({ ...quiet, begin: () => void begun.push(peer.call) })
      : undefined,
  )
  const hut = await bench.connect('Q2HUT-5')
  expect([hut.state, hut.text, begun]).toEqual(['on', '', ['Q2HUT-5']])
  expect((await bench.connect('Q7LAP')).text).toContain('This is Q2VAN-5')
})
