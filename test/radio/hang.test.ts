import { describe, expect, it } from 'vitest'
import { type ControllerBench, controllerBench } from './controllerBench.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

const own = (text: string): Uint8Array => frame(ownCall, text)
const foreign = (text: string): Uint8Array => frame('QQ9ZZ', text)
const fates = ({ outcomes }: ControllerBench): string[] =>
  outcomes.map(({ id, kind }) => `${id} ${kind}`)
const reasonOf = ({ outcomes }: ControllerBench, id: string): string => {
  const outcome = outcomes.findLast((one) => one.id === id)
  return outcome !== undefined && 'reason' in outcome ? outcome.reason : ''
}

describe('a hang of the transmitter', () => {
  const hangMs = 1500
  /** The bench notes when the line went off. */
  const onAirMs = ({ sent }: ControllerBench): number =>
    sent.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs + hangMs, 0)

  it('counts on the duty limit: 24 frames in 6 minutes', () => {
    const dutyLimits = [{ windowMs: 360_000, share: 0.1 }]
    const bench = controllerBench({ hangMs, dutyLimits })
    for (let index = 0; index < 60; index++) {
      bench.send(`r${index}`, own('x'.repeat(60)))
      bench.advanceTo(bench.nowMs + 5000)
    }
    expect(onAirMs(bench)).toBeGreaterThan(30_000)
    expect(onAirMs(bench)).toBeLessThanOrEqual(36_000)
    expect(bench.controller.state(bench.nowMs).dutyUsed).toBeCloseTo(onAirMs(bench) / 36_000, 2)
  })

  it('counts on the time-out timer: what hangs is cut so that all of it is within', () => {
    const bench = controllerBench({ hangMs })
    bench.hangs = true
    bench.send('a', own('x'))
    bench.advanceTo(20_000)
    expect(onAirMs(bench)).toBe(8000)
    expect(reasonOf(bench, 'a')).toBe('cut after 8000 ms: the time-out timer (8000 ms) ended it')
    bench.send('long', own('x'.repeat(930)))
    expect(reasonOf(bench, 'long')).toMatch(/^it alone would take 8\d\d\d ms/)
  })

  it('counts for the identification: the silence before it begins with the end of the hang', () => {
    const identification = { intervalMs: 540_000, quietMs: 20_000, destination: 'ID' }
    const bench = controllerBench({ hangMs, identification })
    bench.send('a', foreign('x'), 'client')
    bench.advanceTo(60_000)
    const [first, second] = bench.sent
    expect(second!.fromMs - first!.toMs).toBeCloseTo(hangMs + 20_000, 6)
  })

  it('keeps the channel: nothing is keyed until a slot after it', () => {
    const bench = controllerBench({ hangMs })
    bench.send('a', own('x'))
    bench.advanceTo(500)
    bench.send('b', own('y'))
    bench.advanceTo(20_000)
    const [first, second] = bench.sent
    expect(second!.fromMs - first!.toMs).toBeCloseTo(hangMs + transmitDefaults.access.slotTimeMs, 6)
  })

  it('a slot is no shorter than the attack: two that begin within it do not hear each other', () => {
    const draws = [0.9, 0.9, 0.1]
    const access = { ...transmitDefaults.access, slotTimeMs: 50, persistence: 63 }
    const bench = controllerBench({ access, attackMs: 220 }, undefined, () => draws.shift() ?? 0.1)
    bench.send('a', own('x'))
    bench.advanceTo(10_000)
    expect(bench.sent[0]!.fromMs).toBe(440)
  })

  it('is over before anything is told, also when it is held or ended meanwhile', () => {
    const bench = controllerBench({ hangMs })
    bench.send('a', own('x'))
    bench.advanceTo(100)
    while (bench.controller.state(bench.nowMs).keyed && Number.isNaN(bench.sent[0]!.toMs))
      bench.advanceTo(bench.nowMs + 10)
    const offAtMs = bench.sent[0]!.toMs + hangMs
    bench.feed({ kind: 'hold', source: 'operator', reason: 'by hand' })
    bench.feed({ kind: 'end', reason: 'closing' })
    bench.advanceTo(offAtMs - 1)
    expect(fates(bench)).toEqual([])
    expect(bench.controller.state(bench.nowMs).idle).toBe(false)
    bench.advanceTo(offAtMs)
    expect(fates(bench)).toEqual(['a sent'])
    expect(bench.controller.state(bench.nowMs).idle).toBe(true)
  })
})

describe('a line whose helper says late that it is on', () => {
  it('counts on the duty limit from the command', () => {
    const windowMs = 60_000
    const bench = controllerBench({ dutyLimits: [{ windowMs, share: 0.5 }] })
    bench.feed({ kind: 'channel', busy: false })
    bench.deadLine = true
    bench.send('a', frame(ownCall, 'answer'), 'answer')
    bench.advanceTo(bench.nowMs + 300)
    bench.feed({ kind: 'keyed', atMs: bench.nowMs })
    bench.advanceTo(10_000)
    const [outcome] = bench.outcomes
    const toldMs = outcome?.kind === 'sent' ? outcome.airtimeMs : 0
    const countedMs = bench.controller.state(bench.nowMs).dutyUsed * 0.5 * windowMs
    expect(toldMs).toBeGreaterThan(0)
    expect(countedMs).toBeCloseTo(toldMs + 300, 0)
  })
})
