import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { type EventRow, eventRows } from '../../src/cli/log/event/eventRows.js'
import { holders } from '../../src/setup/keptNames.js'
import { openStoreReader } from '../../src/store/readOnly.js'
import { type EventOutcome, nodeCall, runEvent } from './event.js'
import { parseFrame } from './eventAir.js'

/** From the hand-over to a radio until the frame is on the air: what began to go out to the former holder is not called back. */
const underWayMs = 15_000

let folder: string
let run: EventOutcome
let rows: readonly EventRow[]
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'event-'))
  const file = join(folder, 'node.db')
  run = await runEvent({ seed: 7, stationCount: 40, messageCount: 100, lossShare: 0.3, file })
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

it('every message to a tactical name that was kept reaches who holds it at that time, and nobody else', () => {
  const kept = run.left.filter(({ from, token }) => {
    const radio = run.handHelds.find(({ call }) => call === from)!
    return radio.sent.some(
      ({ text, state }) => text.endsWith(` ${token}`) && state === 'acknowledged',
    )
  })
  expect(kept.length).toBeGreaterThan(60)
  const lost = kept.filter(
    ({ from, name, token }) =>
      !run.shown.some(
        ({ call, text, atMs }) => text === `${from}: EXERCISE ${token}` && held(name, call, atMs),
      ),
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

it('a message addressed to the name itself is acknowledged and passed on', () => {
  const direct = rows.filter(({ to }) => to.startsWith('CHECK'))
  expect(direct.length).toBeGreaterThan(10)
  expect(direct.filter(({ ended }) => ended?.how !== 'confirmed')).toEqual([])
  for (const { from, text, toName: _ } of direct)
    expect(
      run.shown.some((one) => one.text === `${from}: EXERCISE ${text}`),
      text,
    ).toBe(true)
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
