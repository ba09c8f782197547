import { describe, expect, it } from 'vitest'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import type { RadioReport } from '../../src/radio/radioWatch.js'
import { own, radio, rateHz } from './coreBench.js'
import { request } from './fixtures.js'

const everything = { spectrum: true, audio: true }

/** A frame with its middle taken out: the FCS is wrong, and the tones are as they were. */
function damagedAudio(toneBalanceDb: number): Float32Array {
  const audio = modulateTransmission({
    frames: [own('The quick brown fox jumps over the lazy dog, 0123456789 times ~ and again.')],
    ...{ preambleMs: 200, tailMs: 50, sampleRateHz: rateHz, peakLevel: 0.5, toneBalanceDb },
  })
  const middle = Math.round(audio.length / 2)
  audio.fill(0, middle, middle + 60)
  return audio
}

describe('looking at a radio', () => {
  it('tells nothing while nobody looks, and nothing more when he has gone', async () => {
    const { core, clock } = radio()
    core.start()
    const reports: RadioReport[] = []
    const stop = core.watch(everything, (report) => reports.push(report))
    await clock.advanceToAsync(2000)
    const kinds = new Set(reports.map(({ kind }) => kind))
    expect([...kinds].sort()).toEqual(['audio', 'carrier', 'reading', 'row'])
    expect(reports.filter(({ kind }) => kind === 'row').length).toBeGreaterThanOrEqual(15)
    stop()
    const before = reports.length
    await clock.advanceToAsync(4000)
    expect(reports).toHaveLength(before)
  })

  it('a damaged frame comes with its time, level, tone balance and cause', async () => {
    for (const balanceDb of [0, -9]) {
      const { core, clock, source, wants } = radio()
      wants.flows = false
      core.start()
      const reports: RadioReport[] = []
      core.watch({ spectrum: false, audio: false }, (report) => reports.push(report))
      const audio = new Float32Array(rateHz * 3)
      audio.set(damagedAudio(balanceDb), rateHz / 2)
      for (let at = 0; at < audio.length; at += 240) {
        await clock.advanceToAsync(clock.monotonicMs() + 20)
        source().onBlock(audio.subarray(at, at + 240))
      }
      const damaged = reports.filter((report) => report.kind === 'damaged')
      expect(damaged.length).toBeGreaterThanOrEqual(1)
      const [one] = damaged
      const startWallMs = clock.wallMs() - clock.monotonicMs()
      expect(one!.fromWallMs - startWallMs).toBeGreaterThan(500)
      expect(one!.toWallMs - startWallMs).toBeLessThan(1700)
      expect(one!.toneBalanceDb).toBeGreaterThan(balanceDb - 3)
      expect(one!.toneBalanceDb).toBeLessThan(balanceDb + 3)
      expect(one!.levelDbfs).toBeGreaterThan(-16)
      expect(one!.causeKinds).toContain(balanceDb === 0 ? 'samples lost' : '2200 Hz tone low')
      expect(one!.cause).toMatch(
        balanceDb === 0
          ? /^samples lost 0\.\d+ s after its start: the sound card/
          : /^2200 Hz tone \d+ dB low/,
      )
    }
  })

  it('the queue shows what waits and for what; holds have their age', async () => {
    const { core, clock } = radio()
    core.start()
    await clock.advanceToAsync(1000)
    const reports: RadioReport[] = []
    core.watch({ spectrum: false, audio: false }, (report) => reports.push(report))
    core.hold('operator', 'for lunch')
    core.send(request('a', own('x')))
    await clock.advanceToAsync(1500)
    const queues = reports.filter((report) => report.kind === 'queue')
    expect(queues.at(-1)?.items).toEqual([
      expect.objectContaining({ id: 'a', heldFor: 'held by operator: for lunch' }),
    ])
    expect(core.state().holds).toEqual([{ source: 'operator', reason: 'for lunch', sinceMs: 1000 }])
    core.release('operator')
    await clock.advanceToAsync(5000)
    const after = reports.filter((report) => report.kind === 'queue')
    expect(after.at(-1)?.items).toEqual([])
    expect(core.duty().spans).toHaveLength(1)
  })
})
