import { describe, expect, it } from 'vitest'
import { type GivenName, tacticalNames } from '../../src/services/event/tacticalNames.js'
import { collectService } from '../../src/services/mailbox.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NewMailboxEntry } from '../../src/store/mailbox.js'
import type { MessageRecord } from '../../src/store/messages.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore } from '../store/openTestStore.js'
import { failingStore } from './failingStore.js'
import { type TestNode, testNode } from './testNode.js'

const broken = (what: string) => (): never => {
  throw new Error(`${what} broke`)
}
const faultsOf = ({ events }: TestNode): [string, string | undefined][] =>
  events.filter(({ kind }) => kind === 'fault').map(({ text, reason }) => [text, reason])

const minuteMs = 60_000
function leave(store: Store, nowMs: number, entry: Partial<NewMailboxEntry> = {}): void {
  const life = { leftWallMs: nowMs, expiresWallMs: nowMs + 60 * minuteMs, expiryTrusted: true }
  const left = { questionId: 'q1', from: 'Q7LAP', to: 'Q1ABC', text: 'bring rope', ...life }
  store.durably('a message', () => store.mailbox.insert({ ...left, ...entry }))
}

describe('a step of a node that breaks', () => {
  it('is named in the log, and takes no other with it', async () => {
    const stopped: string[] = []
    const node = testNode({
      email: () => ({ start: broken('the start'), stop: broken('the stop') }) as never,
      connected: () => ({ take: () => false, stop: () => stopped.push('connected') }) as never,
      digipeater: () => ({ take: () => {}, stop: () => stopped.push('digipeater') }) as never,
      onEmergency: broken('the bell'),
    })
    node.ask('Q1ABC', 'sos leg broken')
    await node.wait(5)
    expect(node.sentTexts().join()).toContain(':Q1ABC    :')
    const beacons = { schedules: [{ kind: 'status', cron: 'now and then' }] } as const
    node.node.setOptions(defaultNodeOptions({ call: 'N0DE-10', beacons }))
    node.node.stop()
    expect(stopped).toEqual(['connected', 'digipeater'])
    expect(faultsOf(node)).toEqual([
      ['beacons and services at the start', expect.stringMatching(/^the start broke/)],
      ['telling a call for help', expect.stringMatching(/^the bell broke/)],
      ['beacons after a reload', expect.any(String)],
      ['stopping', expect.stringMatching(/^the stop broke/)],
    ])
  })

  it('may be messages under way to one station: those to others go on', () => {
    const { store, clock } = openTestStore()
    const first = testNode({ store, clock })
    first.port.mode = 'swallow'
    for (const to of ['Q1BAD', 'Q2ABC', 'Q1BAD', 'Q2ABC']) first.node.say({ to, text: 'hello' })
    first.node.stop()
    const spoilt = (message: MessageRecord): MessageRecord =>
      Object.defineProperty({ ...message }, 'createdWallMs', { get: broken('the row') })
    const open = () => store.messages.open().map((one) => (one.to === 'Q1BAD' ? spoilt(one) : one))
    const messages = { ...store.messages, open }
    const again = testNode({ store: { ...store, messages }, clock, seed: 2 })
    expect(faultsOf(again)).toContainEqual([
      ...['messages under way to Q1BAD', expect.stringMatching(/^the row broke/)],
    ])
    expect(again.node.state().openMessageCount).toBe(2)
  })

  it('may be the mailbox when it is counted: that is told as none', () => {
    const { store, clock, faults } = openTestStore()
    leave(store, clock.wallMs())
    const now = { fails: false }
    const failing = failingStore(store, (what) => now.fails && what === 'the mailbox')
    const { node } = testNode({ store: failing, clock })
    expect(node.state().mailboxCount).toBe(1)
    now.fails = true
    expect(node.state().mailboxCount).toBe(0)
    expect(faults.map(({ message }) => message)).toEqual([expect.stringContaining('the mailbox')])
  })
})

describe('a node that is started', () => {
  it('goes on with what the one before it left, where that is wanted', async () => {
    const { store, clock } = openTestStore()
    const first = testNode({ store, clock })
    first.port.mode = 'swallow'
    first.node.say({ to: 'Q1ABC', text: 'come home' })
    first.node.stop()
    const safe = testNode({ store, clock, seed: 2, withoutPast: true })
    await safe.wait(60)
    expect(safe.sentTexts()).toEqual([])
    safe.node.stop()
    const again = testNode({ store, clock, seed: 3 })
    await again.wait(5)
    expect(again.sentTexts()).toEqual([expect.stringMatching(/^:Q1ABC {4}:come home\{/)])
  })
})

describe('a node that is stopped', () => {
  it('has written what was gathered, and ends nothing any more', () => {
    const { store, clock } = openTestStore()
    let flushCount = 0
    const flush = (): void => {
      flushCount++
      store.flush()
    }
    const node = testNode({ store: { ...store, flush }, clock })
    leave(store, clock.wallMs(), { expiresWallMs: clock.wallMs() + minuteMs })
    leave(store, clock.wallMs(), { questionId: 'q2', expiresWallMs: clock.wallMs() + 5 * minuteMs })
    const states = () => [1, 2].map((id) => store.mailbox.find(id)?.state)
    clock.advanceBy(2 * minuteMs)
    expect([states(), flushCount]).toEqual([['expired', 'waiting'], 0])
    node.node.stop()
    clock.advanceBy(10 * minuteMs)
    expect([states(), flushCount]).toEqual([['expired', 'waiting'], 1])
  })
})

describe('mail for a name that another station holds now', () => {
  it.each([
    ['running', 'waiting'],
    ['stopped', 'sending'],
  ])('of a node that is %s is %s', async (is, state) => {
    const given = new Map<string, GivenName>()
    const names = tacticalNames({
      entries: () => [{ name: 'BASE', call: 'Q1OLD', lists: [] }],
      keeping: { all: () => given, set: (name, one) => given.set(name, one!).size > 0 },
      ...{ isOn: () => true, isExercise: false, wallMs: () => 0, onChange: () => {} },
    })
    const event = { names, status: () => undefined, announcements: () => [] }
    const node = testNode({ services: [collectService], event })
    leave(node.store, node.clock.wallMs(), { to: 'BASE' })
    node.ask('Q1OLD', 'collect')
    await node.wait(5)
    expect(node.store.mailbox.find(1)?.state).toBe('sending')
    names.give('BASE', 'Q2NEW', 'a test')
    if (is === 'stopped') node.node.stop()
    node.node.namesChanged()
    expect(node.store.mailbox.find(1)?.state).toBe(state)
  })
})
