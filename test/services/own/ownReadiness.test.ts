import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { systemClock } from '../../../src/runtime/systemClock.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'
import { dispatch } from '../../../src/services/dispatch.js'
import { helpService } from '../../../src/services/help.js'
import {
  type OwnServiceEvent,
  type OwnServices,
  openOwnServices,
} from '../../../src/services/own/ownServices.js'
import { testService } from '../../../src/services/own/testKit.js'
import { trialOf } from '../../../src/services/own/trial.js'
import { notReadyAmong } from '../../../src/services/readiness.js'
import type { Service } from '../../../src/services/service.js'
import { testContext } from '../testContext.js'
import { builtThread } from './builtThread.js'

const threadEntry = builtThread()
afterAll(() => rmSync(new URL('../..', threadEntry), { recursive: true }))

/** of a starved machine */
const patienceMs = 20_000

let folder: string
let own: OwnServices | undefined
let services: readonly Service[]
let events: OwnServiceEvent[]
let clock: VirtualClock

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'own-ready-'))
  services = []
  events = []
  clock = virtualClock()
})
afterEach(async () => {
  await own?.close()
  rmSync(folder, { recursive: true })
})

const write = (name: string, body: string): void =>
  writeFileSync(
    join(folder, `${name}.mjs`),
    `import { existsSync, readFileSync } from 'node:fs'
     const file = new URL('./state.json', import.meta.url)
     const said = () => existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : undefined
     export default { keyword: '${name}', summary: 'for the test', usage: '${name}',
       answer: ({ words }) => 'answered ' + words.join(' '), ${body} }\n`,
  )
const say = (value: unknown): void =>
  writeFileSync(join(folder, 'state.json'), JSON.stringify(value))
const saysWhatStands = 'ready: said'

async function open(more = {}): Promise<void> {
  own = openOwnServices({
    ...{ folder, clock, timeLimitMs: 2000, memoryMb: 32, threadEntry, taken: [] },
    onChange: (found) => {
      services = found
    },
    onEvent: (event) => events.push(event),
    ...more,
  })
  await own.ready
}
const faults = () => events.flatMap((event) => (event.kind === 'fault' ? [event.reason] : []))
const notOffered = () => notReadyAmong(services, { clock })
/** As a question by radio. */
async function ask(text: string): Promise<string> {
  const all = [...services, helpService()]
  const context = testContext({ services: all })
  const asked = { id: 'Q1', from: 'N0CALL-7', text }
  return (await dispatch(asked, { services: all }, context)).messages.join(' ')
}
const gauge = { keyword: 'gauge', reason: 'the gauge says nothing' }
const empty = { state: 'empty', reason: gauge.reason }

describe('an own service says whether it is ready', () => {
  it('and while it is not, nobody is sent to it; who asks is answered', async () => {
    write('gauge', saysWhatStands)
    write('plain', "synonyms: ['level']")
    say(empty)
    await open()
    expect(notOffered()).toEqual([gauge])
    expect(await ask('help')).toBe('Send: plain. More: help plain')
    expect(await ask('help gauge')).toBe('gauge cannot answer just now: the gauge says nothing.')
    // a mistyped word: no offer of what cannot answer
    expect(await ask('gaugge')).toBe('gauge cannot answer just now: the gauge says nothing.')
    expect(await ask('gauge now')).toBe('answered now')
  })

  it('after a while, and before its next answer, what has changed is known', async () => {
    write('gauge', saysWhatStands)
    say({ state: 'ready' })
    await open()
    expect(notOffered()).toEqual([])
    say({ state: 'stale', reason: 'measured yesterday' })
    clock.advanceBy(59_999)
    await own!.look()
    expect(notOffered()).toEqual([])
    clock.advanceBy(1)
    await own!.look()
    await vi.waitFor(
      () => expect(notOffered()).toEqual([{ keyword: 'gauge', reason: 'measured yesterday' }]),
      patienceMs,
    )
    say({ state: 'ready' })
    await ask('gauge')
    expect(notOffered()).toEqual([])
    say(empty)
    await ask('gauge')
    await vi.waitFor(() => expect(notOffered()).toEqual([gauge]), patienceMs)
    expect(faults()).toEqual([])
  })

  it('by what the operator set, and by a promise', async () => {
    write(
      'gauge',
      `settings: { file: { type: 'text' } },
       ready: async ({ nowWallMs, settings }) => ({ state: 'empty', reason: settings.file + ' at ' + nowWallMs })`,
    )
    await open({ settings: { gauge: { file: 'x' } } })
    expect(notOffered()[0]!.reason).toBe(`x at ${clock.wallMs()}`)
  })

  it.each([
    ['throws', "ready() { throw new Error('boom') }", /^ready: boom \(gauge\.mjs:\d+:\d+\)$/],
    [
      'says nothing',
      'ready() {}',
      /^ready: state: got undefined, expected "ready", "stale" or "empty"$/,
    ],
    [
      'gives no reason',
      "ready: () => ({ state: 'empty' })",
      /^ready: reason: got undefined, expected a text of 1 to 67 characters$/,
    ],
    [
      'gives a reason that is no line',
      "ready: () => ({ state: 'empty', reason: 'a\\nb' })",
      /^ready: reason: got "a\\nb"/,
    ],
    [
      'gives too long a reason',
      "ready: () => ({ state: 'stale', reason: 'r'.repeat(68) })",
      /^ready: reason: got "rrr/,
    ],
    ['ends itself', 'ready() { process.exit(0) }', /^ready: it ended$/],
    [
      'eats all memory',
      'ready() { const all = []; for (;;) all.push(new Array(100_000).fill({ a: 1 })) }',
      /^ready: it broke: .*memory/,
    ],
  ])('one that %s is not ready, a fault told once, and still answers', async (_, body, reason) => {
    write('gauge', body)
    write('plain', '')
    await open({ clock: systemClock(), timeLimitMs: 30_000 })
    expect(faults()).toEqual([expect.stringMatching(reason)])
    expect(notOffered()).toEqual([
      { keyword: 'gauge', reason: 'it does not say whether it is ready' },
    ])
    expect(await ask('gauge twice')).toBe('answered twice')
    expect(await ask('gauge again')).toBe('answered again')
    expect(faults()).toHaveLength(1)
  })

  it('one that never ends is stopped at the limit, and askers do not wait for it', async () => {
    write('gauge', 'ready: () => new Promise(() => {})')
    const limits: number[] = []
    const opened = open({
      clock: {
        ...{ wallMs: clock.wallMs, monotonicMs: clock.monotonicMs },
        at(atMs: number, run: () => void) {
          limits.push(atMs - clock.monotonicMs())
          return clock.at(atMs, run)
        },
      },
    })
    // Two limits were begun for its loading (the thread, and ready's look whether it has loaded), the next is ready's own.
    await vi.waitFor(() => expect(limits.filter((one) => one === 2000)).toHaveLength(3), patienceMs)
    clock.advanceBy(2000)
    await opened
    expect(faults()).toEqual(['ready took longer than 2 s'])
    expect(await ask('gauge now')).toBe('answered now')
  })

  it('a function it must be, and a test of it sees the same', async () => {
    write('gauge', 'ready: true')
    await open()
    expect(faults()).toEqual(['ready: expected a function'])
    const service = { keyword: 'gauge', summary: 's', usage: 'gauge', answer: () => 'yes' }
    expect(await testService(service).ready()).toEqual({ state: 'ready' })
    const tested = testService({ ...service, ready: () => empty as never })
    expect(await tested.ready()).toEqual(empty)
    const wrong = testService({ ...service, ready: () => ({ state: 'full' }) as never })
    await expect(wrong.ready()).rejects.toThrow('ready: state: got "full", expected')
  })

  it('a trial tells it', async () => {
    write('gauge', saysWhatStands)
    say(empty)
    const trial = await trialOf({
      ...{ file: join(folder, 'gauge.mjs'), clock: systemClock(), timeLimitMs: 30_000 },
      ...{ memoryMb: 32, settings: {}, taken: [], threadEntry },
    })
    expect(trial).toMatchObject({ ok: true, readiness: empty })
  })
})
