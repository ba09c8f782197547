import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parse } from 'csv-parse/sync'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { type EventRow, eventRows } from '../../src/cli/log/event/eventRows.js'
import { logCommand } from '../../src/cli/log/log.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { holders } from '../../src/setup/keptNames.js'
import { openStoreReader } from '../../src/store/readOnly.js'
import { runCommand } from '../cli/commandBench.js'
import { type EventOutcome, nodeCall, runEvent, type ShownAt } from './event.js'
import { type AirMessage, parseFrame } from './eventAir.js'

/** From the hand-over to a radio until the frame is on the air: what began to go out to the former holder is not called back. */
const underWayMs = 15_000

/** SEED=8 for another event. */
const seed = Number(process.env.SEED ?? 7)
type Left = EventOutcome['left'][number]

let folder: string
let run: EventOutcome
let rows: readonly EventRow[]
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'event-'))
  const file = join(folder, 'node.db')
  run = await runEvent({ seed, stationCount: 40, messageCount: 100, lossShare: 0.3, file })
  const reader = openStoreReader(file, () => run.toWallMs)
  const frames = reader.airFrames(run.fromWallMs, run.toWallMs)
  rows = eventRows(frames, { call: nodeCall, holders: holders(reader.serviceData) })
  reader.close()
}, 240_000)
afterAll(() => rmSync(folder, { recursive: true }))

/** Whether a station held a name at a time, or just before. */
const held = (name: string, call: string, atMs: number): boolean => {
  const own = run.holdings.filter((one) => one.name === name)
  return own.some(
    ({ call: holder, fromMs }, at) =>
      holder === call && fromMs <= atMs && atMs <= (own[at + 1]?.fromMs ?? Infinity) + underWayMs,
  )
}

/** The first time that the node had a frame of which this is true. */
const firstAt = (isIt: (one: AirMessage) => boolean): number | undefined =>
  run.air.find(({ sent, octets }) => {
    const one = parseFrame(octets)
    return !sent && one !== undefined && isIt(one)
  })?.atMs

/** When the node had it first; undefined where the channel lost every one of its frames. */
const cameAt = ({ from, token }: Left): number | undefined =>
  firstAt(
    (one) =>
      one.kind === 'message' &&
      one.from === from &&
      (one.text === token || one.text.endsWith(` ${token}`)),
  )

/** Who was shown it, in this order; each once. */
const readers = ({ from, token }: Left): readonly ShownAt[] =>
  run.shown.filter(({ text }) => text === `${from}: EXERCISE ${token}`)

it('every message to a tactical name reaches who holds it at that time, and nobody else', () => {
  const came = run.left.filter((one) => cameAt(one) !== undefined)
  expect(came.length).toBeGreaterThan(90)
  expect(came.length / run.left.length, 'heard at all').toBeGreaterThan(0.9)
  const lost = came.filter(
    (one) => !readers(one).some(({ call, atMs }) => held(one.name, call, atMs)),
  )
  expect(lost).toEqual([])
  const astray = run.shown.filter(({ call, text, atMs }) => {
    const [, token] = /^Q0\S+: EXERCISE (T\d+x)$/.exec(text) ?? []
    const to = run.left.filter((one) => one.token === token)
    return to.length > 0 && !to.some(({ name }) => held(name, call, atMs))
  })
  expect(astray).toEqual([])
  const changes = run.holdings.length - 40
  expect(changes, 'names that changed hands').toBeGreaterThan(40)
})

it('no message goes to a second holder once the node has heard that the first one has it', () => {
  const again = run.left.filter((one) => {
    // Of one text to several names each has its own.
    if (run.left.some(({ token, name }) => token === one.token && name !== one.name)) return false
    const [first, ...others] = readers(one)
    if (first === undefined) return false
    const confirmedAt = confirmedBy(first.call, `${one.from}: EXERCISE ${one.token}`)
    return others.some(
      ({ call, atMs }) =>
        call !== first.call && confirmedAt !== undefined && confirmedAt + underWayMs < atMs,
    )
  })
  expect(again).toEqual([])
})

/** When the node heard that a station has a text that it was sent. */
function confirmedBy(call: string, text: string): number | undefined {
  const numbers = run.air.flatMap(({ sent, octets }) => {
    const one = parseFrame(octets)
    return sent && one?.to === call && one.text === text ? [one.number] : []
  })
  return firstAt(
    (one) => one.kind === 'acknowledgement' && one.from === call && numbers.includes(one.number),
  )
}

it('a message addressed to the name itself is acknowledged to its sender', () => {
  const direct = rows.filter(({ to }) => to.startsWith('CHECK'))
  expect(direct.length).toBeGreaterThan(10)
  expect(direct.filter(({ ended }) => ended?.how !== 'confirmed')).toEqual([])
})

it('the table that is printed has what was on the air, each once, and nothing else', async () => {
  const config = join(folder, 'node.toml')
  writeFileSync(
    config,
    `[station]\ncall = "${nodeCall}"\n[store]\nfile = "node.db"\n[event]\nname = "Ridge walk"\nexercise = true
from = "2026-06-21 06:00"\nto = "2026-06-22 06:00"\n`,
  )
  const clock = virtualClock(run.toWallMs)
  const words = ['--config', config, '--event', '--limit', 'all', '--format']
  const printed = async (format: string) =>
    (await runCommand(logCommand, [...words, format], { clock })).stdout
  const [header, ...lines] = parse(await printed('csv')) as string[][]
  const column = (name: string): number => header!.indexOf(name)
  const keyOf = (from: string, to: string, text: string): string => `${from}>${to}:${text}`
  const inTable = lines.map((line) =>
    keyOf(line[column('from')]!, line[column('to')]!, line[column('text')]!),
  )
  const messages = new Map<string, string>()
  for (const { octets } of run.air) {
    const one = parseFrame(octets)
    if (one?.kind === 'message')
      messages.set(
        `${one.number} ${keyOf(one.from, one.to, one.text)}`,
        keyOf(one.from, one.to, one.text),
      )
  }
  expect(inTable.sort()).toEqual([...messages.values()].sort())
  const confirmed = lines.filter((line) => /^\d\d:/.test(line[column('confirmed')]!))
  expect(confirmed.length).toBe(rows.filter(({ ended }) => ended?.how === 'confirmed').length)
  expect(confirmed.length).toBeGreaterThan(100)
  // The page has a row for each, too.
  const page = await printed('page')
  for (const { text } of rows) expect(page).toContain(text.replaceAll('<', '&lt;').slice(0, 20))
  expect(page.match(/<tr>/g)!.length).toBeGreaterThanOrEqual(rows.length)
})

it('the log has what was on the air, each once, and confirmed what was acknowledged', () => {
  const said = new Set<string>()
  const acknowledged = new Set<string>()
  for (const { octets } of run.air) {
    const one = parseFrame(octets)
    if (one?.kind === 'message') said.add(`${one.from}>${one.to}{${one.number}:${one.text}`)
    if (one?.kind === 'acknowledgement') acknowledged.add(`${one.to}<${one.from}{${one.number}`)
  }
  const logged = rows.map(({ from, to, number, text }) => `${from}>${to}{${number}:${text}`)
  expect([...new Set(logged)].sort()).toEqual([...said].sort())
  expect(logged.length, 'each once').toBe(said.size)
  const wrong = rows.filter(({ from, to, number, ended }) => {
    const by = to.startsWith('CHECK') ? nodeCall : to
    return (
      number !== undefined && acknowledged.has(`${from}<${by}{${number}`) !== (ended !== undefined)
    )
  })
  expect(wrong).toEqual([])
  expect(rows.length).toBeGreaterThan(200)
})

it('names in the log are those of that time', () => {
  for (const { to, toName, atWallMs } of rows) {
    if (to === nodeCall || to.startsWith('CHECK')) continue
    const atMs = atWallMs - run.fromWallMs
    const now = new Map<string, string>()
    for (const { name, call, fromMs } of run.holdings) if (fromMs <= atMs) now.set(name, call)
    const own = [...now].filter(([, call]) => call === to).map(([name]) => name)
    expect(
      (toName ?? '')
        .split(' ')
        .filter((one) => one !== '')
        .sort(),
    ).toEqual(own.sort())
  }
})
