import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { type KeptHolds, keptHolds } from '../../src/setup/keptHolds.js'

let folder: string
let file: string
let clock: VirtualClock
let faults: string[]
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-holds-'))
  file = join(folder, 'ridgepost.db.holds.json')
  clock = virtualClock()
  faults = []
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const opened = (): KeptHolds => keptHolds({ file, clock, onFault: (text) => faults.push(text) })

/** A radio of which only its holds are looked at. */
function radio(number = 0): { port: RadioPort; holding: Map<string, string> } {
  const holding = new Map<string, string>()
  const port = {
    radio: number,
    name: `radio ${number}`,
    hold: (source: string, reason: string) => void holding.set(source, reason),
    release: (source: string) => void holding.delete(source),
  } as unknown as RadioPort
  return { port, holding }
}

describe("the operator's holds", () => {
  it('a reason of any length is none that the next run takes for damage', () => {
    const holds = opened()
    holds.wrap(radio(0).port).hold('operator', '%E2%80%AE'.repeat(60))
    holds.close()
    const [held, other] = [radio(0), radio(1)]
    const after = opened()
    for (const { port } of [held, other]) after.wrap(port)
    expect(held.holding.get('operator')).toMatch(/^%E2%80%AE/)
    expect(other.holding.size).toBe(0)
    expect(faults).toEqual([])
  })

  it('survive a restart until they are released, each for its own radio', () => {
    const holds = opened()
    holds.wrap(radio(0).port).hold('operator', 'by somebody')
    holds.wrap(radio(1).port).hold('hold file', 'it exists')
    holds.close()

    const again = [radio(0), radio(1)]
    const after = opened()
    const ports = again.map(({ port }) => after.wrap(port))
    expect(again[0]!.holding).toEqual(new Map([['operator', 'by somebody']]))
    // what others hold is theirs to keep
    expect(again[1]!.holding.size).toBe(0)
    ports[0]!.release('hold file')
    expect(again[0]!.holding.size).toBe(1)
    ports[0]!.release('operator')
    expect(again[0]!.holding.size).toBe(0)

    const third = radio(0)
    opened().wrap(third.port)
    expect(third.holding.size).toBe(0)
    expect(faults).toEqual([])
  })

  it('with a time end by themselves; after a restart the time begins anew', async () => {
    const { port, holding } = radio()
    const holds = opened()
    const wrapped = holds.wrap(port)
    wrapped.hold('operator', 'by somebody')
    holds.endAfter(wrapped, 60_000)
    await clock.advanceToAsync(clock.monotonicMs() + 59_999)
    expect(holding.size).toBe(1)
    holds.close()

    const next = radio()
    const after = opened()
    after.wrap(next.port)
    await clock.advanceToAsync(clock.monotonicMs() + 59_999)
    expect(next.holding.size).toBe(1)
    await clock.advanceToAsync(clock.monotonicMs() + 1)
    expect(next.holding.size).toBe(0)
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual({})
  })

  it('a later hold without a time outlasts the time of the one before', async () => {
    const { port, holding } = radio()
    const holds = opened()
    const wrapped = holds.wrap(port)
    wrapped.hold('operator', 'first')
    holds.endAfter(wrapped, 60_000)
    wrapped.hold('operator', 'second')
    await clock.advanceToAsync(clock.monotonicMs() + 600_000)
    expect(holding.get('operator')).toBe('second')
  })

  it.each([
    '',
    '{',
    '[]',
    '{"0":{}}',
    '{"radio":{"reason":"x"}}',
    '{"0":{"reason":"x","durationMs":-1}}',
  ])('a damaged file (%j) holds all radios, and says so', (text) => {
    writeFileSync(file, text)
    const { port, holding } = radio(3)
    opened().wrap(port)
    // an array of nothing is an object without entries to the schema: nobody held
    expect(holding.has('operator')).toBe(text !== '[]' || holding.has('operator'))
    if (text !== '[]') expect(faults.join()).toMatch(/damaged: all radios are held/)
  })

  it('a hold that cannot be written holds all the same, and says that a restart ends it', () => {
    mkdirSync(`${file}.partial`)
    writeFileSync(join(`${file}.partial`, 'in the way'), '')
    const { port, holding } = radio()
    opened().wrap(port).hold('operator', 'now')
    expect(holding.size).toBe(1)
    expect(faults.join()).toMatch(/not kept over a restart/)
  })

  it('without a database nothing is kept', () => {
    const { port, holding } = radio()
    keptHolds({ file: undefined, clock, onFault: () => {} })
      .wrap(port)
      .hold('operator', 'now')
    expect(holding.size).toBe(1)
  })
})
