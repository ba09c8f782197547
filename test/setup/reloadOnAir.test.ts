import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { stringify } from 'smol-toml'
import { afterAll, describe, expect, it } from 'vitest'
import { createReload } from '../../src/cli/run/reload.js'
import type { RunLog } from '../../src/cli/run/runLog.js'
import { openRunningNode } from '../../src/cli/run/runNode.js'
import type { Config } from '../../src/config/schema.js'
import { configTables } from '../../src/packaging/configKeys.js'
import type { FinalOutcome, TransmitRequest } from '../../src/radio/port.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { errorText } from '../../src/runtime/errorText.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createChannel } from '../../src/simulation/channel.js'
import { handHeld } from '../../src/simulation/handHeld.js'
import { type SimulatedRadioOptions, simulatedRadio } from '../../src/simulation/simulatedRadio.js'
import { bases, candidates, configOf, type Document, keysOf, withKey } from './changedKeys.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-reload-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const call = 'Q0HUT-10'

/** The first base in which the key may have another value, and the file with that. */
interface Change {
  readonly path: string
  readonly base: number
  readonly text: string
}

const withCall = (base: Document): Document => withKey(base, ['station', 'call'], call)

function changeOf({ path, key }: ReturnType<typeof keysOf>[number]): Change | undefined {
  for (const [number, base] of bases.entries())
    for (const value of candidates(key, path)) {
      const before = configOf(withCall(base))!
      const document = withKey(withCall(base), path.split('.'), value)
      const after = configOf(document)
      if (after !== undefined && JSON.stringify(after) !== JSON.stringify(before))
        return { path, base: number, text: stringify(document) }
    }
  return undefined
}

const keys = keysOf(configTables())
const changes = keys.map(changeOf).filter((one) => one !== undefined)

/** Each in a node of its own, so that each ends in good time on a slow machine. */
const keysAtOnce = 40
const parts = bases.flatMap((base, number) => {
  const own = changes.filter((one) => one.base === number)
  return Array.from({ length: Math.ceil(own.length / keysAtOnce) }, (_, at) => {
    const mine = own.slice(at * keysAtOnce, (at + 1) * keysAtOnce)
    return { base, mine, from: mine[0]!.path, to: mine.at(-1)!.path }
  })
})

const hexOf = (octets: Uint8Array): string => Buffer.from(octets).toString('hex')

/** How often each is there. */
function counted(all: readonly string[]): Map<string, number> {
  const counts = new Map<string, number>()
  for (const one of all) counts.set(one, (counts.get(one) ?? 0) + 1)
  return new Map([...counts].sort())
}

/** The real node over a simulated radio, with a station that is talked to, one that talks, and an ear that hears everything. */
async function running(config: Config, configFile: string) {
  // A day on which the event of the configuration is, and not in its quiet hours.
  const clock = virtualClock(Date.UTC(2026, 5, 21, 12))
  const channel = createChannel({ clock, random: seededRandom(1), lossShare: () => 0 })
  const radioOf = (name: string, seed: number, onReady?: SimulatedRadioOptions['onReady']) =>
    simulatedRadio({
      ...{ clock, random: seededRandom(seed), channel, call: name },
      ...(onReady && { onReady }),
    })
  let setAccess: RadioPort['setAccess'] | undefined
  const radio = radioOf(call, 2, (own) => {
    setAccess = (change) => own.setAccess(change)
  })
  const heard: string[] = []
  radio.onFrame(({ octets }) => heard.push(hexOf(octets)))
  const requests: string[] = []
  const ended: FinalOutcome[] = []
  radio.onOutcome((outcome) => {
    if (outcome.kind !== 'held') ended.push(outcome)
  })
  const port = {
    ...{ ...radio, setAccess, watch: () => () => {} },
    send(request: TransmitRequest) {
      requests.push(hexOf(request.octets))
      radio.send(request)
    },
  } as unknown as RadioPort
  const onAir: string[] = []
  channel.attach({
    name: 'Q9EAR',
    heard: (octets) => onAir.push(hexOf(octets)),
    busy: () => {},
  })
  const log: RunLog = {
    ...{ node: () => {}, radio: () => {}, note: () => {}, fault: () => {}, change: () => {} },
    error(text) {
      throw new Error(text)
    },
  }
  let id = 0
  const node = await openRunningNode({
    ...{ config, configFile, ports: [port], clock, random: seededRandom(3), log },
    nextId: () => `n${++id}`,
  })
  const person = (name: string, seed: number) => {
    const own = radioOf(name, seed)
    const random = seededRandom(seed + 1)
    const radio = handHeld({ port: own, clock, random, call: name, nodeCall: call, path: [] })
    return { ...radio, radio: own, shown: radio.shown }
  }
  const reload = createReload({
    ...{ configFile, config, adjust: (one) => one, ports: [port], running: node, log },
  })
  node.node.start()
  return {
    ...{ clock, radio, node, reload, heard, requests, ended, onAir },
    talker: person('Q1KIT-7', 10),
    reader: person('Q1OPS-7', 20),
  }
}

type Running = Awaited<ReturnType<typeof running>>

const stepMs = 50

async function until({ clock }: Running, isSo: () => boolean, withinMs = 600_000): Promise<void> {
  const endMs = clock.monotonicMs() + withinMs
  while (!isSo() && clock.monotonicMs() < endMs)
    await clock.advanceToAsync(clock.monotonicMs() + stepMs)
  if (!isSo()) throw new Error(`not so within ${withinMs} ms: ${isSo}`)
}

/** Nobody sends, and nobody is about to. */
const isFree = ({ radio, talker, reader }: Running): boolean =>
  [radio, talker.radio, reader.radio].every((one) => {
    const { keyed, channelBusy, queuedCount } = one.state()
    return !keyed && !channelBusy && queuedCount === 0
  })

const hexOfText = (text: string): string => hexOf(new TextEncoder().encode(text))

/** Reloads while a frame is on its way in. */
async function whileHeard(bench: Running, text: string, reload: () => Promise<unknown>) {
  const { clock, radio, talker, heard } = bench
  await until(bench, () => isFree(bench))
  talker.sendPayload(new TextEncoder().encode(`>${text}`))
  await until(bench, () => talker.radio.state().keyed)
  // past its key delay, well before its end
  await clock.advanceToAsync(clock.monotonicMs() + 400)
  const before = heard.length
  expect(radio.state()).toMatchObject({ channelBusy: true, keyed: false })
  await reload()
  expect(talker.radio.state().keyed).toBe(true)
  await until(bench, () => !talker.radio.state().keyed)
  expect(heard.slice(before).some((hex) => hex.endsWith(hexOfText(`>${text}`)))).toBe(true)
}

/** Reloads while a message is on the air, and another one waits in the queue. */
async function whileSent(bench: Running, text: string, reload: () => Promise<unknown>) {
  const { clock, radio, node, reader } = bench
  await until(bench, () => isFree(bench))
  const said = (which: string) => node.node.say({ to: reader.call, text: `${text} ${which}` })
  expect(said('first').ok).toBe(true)
  await until(bench, () => radio.state().keyed)
  await clock.advanceToAsync(clock.monotonicMs() + 400)
  expect(said('second').ok).toBe(true)
  expect(radio.state().keyed).toBe(true)
  await reload()
  expect(radio.state().keyed).toBe(true)
  const isShown = (which: string): boolean =>
    reader.shown.some((one) => one.text === `${text} ${which}`)
  await until(bench, () => isShown('first') && isShown('second'))
}

const all = 1_000_000

/** What was heard, sent and said: in the database as on the air, each once. */
function expectWhole(bench: Running, texts: readonly string[], said: readonly string[]): void {
  const { node, heard, requests, ended, onAir, reader } = bench
  const kept = node.store.frames.query({ limit: all }).map(({ octets }) => hexOf(octets))
  expect(counted(kept)).toEqual(counted(heard))
  const notOnce = texts.filter(
    (text) => kept.filter((hex) => hex.endsWith(hexOfText(`>${text}`))).length !== 1,
  )
  expect(notOnce, 'heard, and not kept once').toEqual([])
  // An ear beside the node has heard each frame whole, and nothing that the node was not asked for.
  expect(ended.filter(({ kind }) => kind !== 'sent')).toEqual([])
  const sent = onAir.filter((hex) => !heard.includes(hex))
  expect(counted(sent)).toEqual(counted(requests))
  const noted = node.store.transmissions.query({ limit: all })
  expect(counted(noted.map(({ octets }) => hexOf(octets)))).toEqual(counted(requests))
  expect(noted.filter(({ outcome }) => outcome !== 'sent')).toEqual([])
  expect(reader.shown.map(({ text }) => text).filter((text) => said.includes(text))).toEqual(said)
}

describe('a reload with each key changed once, while frames are heard and sent', () => {
  it('has each key', () => {
    expect(parts.flatMap(({ mine }) => mine.map(({ path }) => path)).sort()).toEqual(
      keys.map(({ path }) => path).sort(),
    )
  })

  it.each(parts)(
    'loses no frame, cuts no transmission, keeps what waits: $from to $to',
    async ({ base, mine }) => {
      const own = mkdtempSync(join(folder, 'part-'))
      const file = join(own, 'node.toml')
      const baseText = stringify(withCall(base))
      const bench = await running(configOf(withCall(base))!, file)
      const reloads: string[] = []
      const reloadTo = (text: string) => async () => {
        writeFileSync(file, text)
        const { ok, lines } = await bench.reload()
        expect(ok).toBe(true)
        reloads.push(...lines)
      }
      const texts: string[] = []
      const said: string[] = []
      for (const { path, text } of mine) {
        const [to, back] = [reloadTo(text), reloadTo(baseText)]
        const at = String(texts.length / 2)
        try {
          await whileHeard(bench, `heard ${at} changed`, to)
          await whileSent(bench, `sent ${at} back`, back)
          await whileSent(bench, `sent ${at} changed`, to)
          await whileHeard(bench, `heard ${at} back`, back)
        } catch (error) {
          throw new Error(`${path}: ${errorText(error)}`, { cause: error })
        }
        texts.push(`heard ${at} changed`, `heard ${at} back`)
        said.push(
          ...['back', 'changed'].flatMap((one) =>
            ['first', 'second'].map((which) => `sent ${at} ${one} ${which}`),
          ),
        )
      }
      await until(bench, () => isFree(bench))
      await bench.clock.advanceToAsync(bench.clock.monotonicMs() + 60_000)
      await until(bench, () => isFree(bench))
      expectWhole(bench, texts, said)
      // Each was reloaded four times, and some of them were taken over.
      expect(reloads.length).toBeGreaterThanOrEqual(4 * mine.length)
      bench.node.stop()
      await bench.node.release()
    },
  )
})
