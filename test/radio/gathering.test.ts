import { describe, expect, it } from 'vitest'
import { own, radio } from './coreBench.js'
import { frame, request } from './fixtures.js'

const theirs = frame('QQ9ZZ', 'x'.repeat(100))

describe('audio that is gathered while nothing waits to be sent', () => {
  it('comes seldom while nothing is sent, at once as long as something is', async () => {
    const { core, clock, log, onAir, heard } = radio({ gathers: true })
    const paces = (): string[] => log.filter((entry) => entry.includes('gather'))
    core.start()
    await clock.advanceToAsync(1000)
    expect(paces()).toEqual(['20 gather 400'])
    onAir(theirs)
    await clock.advanceToAsync(3000)
    expect(paces().map((entry) => entry.split(' ')[2])).toEqual(['400'])
    expect(heard).toHaveLength(1)
    // The moment of a frame is that of its audio, not of the piece that it came in.
    const lastedMs = (8 * (theirs.length + 2) * 1000) / 1200
    expect(heard[0]!.heardAtMs).toBeGreaterThan(1000 + 100 + lastedMs - 200)
    expect(heard[0]!.heardAtMs).toBeLessThan(1000 + 100 + 1.2 * lastedMs + 10)
    log.length = 0
    await clock.advanceToAsync(3010)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(6000)
    expect(log[0]).toBe('3010 gather 0')
    const off = Number(log.find((entry) => entry.endsWith('unkey'))!.split(' ')[0])
    const again = Number(log.find((entry) => entry.endsWith('gather 400'))!.split(' ')[0])
    expect(again - off).toBeGreaterThan(480)
    expect(again - off).toBeLessThan(800)
  })

  it('comes often on a busy channel while an exchange is under way, and seldom again half a minute after it', async () => {
    const { core, clock, log, onAir, heard } = radio({ gathers: true })
    const pacesFrom = async (startMs: number): Promise<string[]> => {
      await clock.advanceToAsync(startMs)
      log.length = 0
      onAir(theirs)
      await clock.advanceToAsync(startMs + 2000)
      return log.map((entry) => entry.split(' ').slice(1).join(' '))
    }
    core.start()
    await clock.advanceToAsync(1000)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(5000)
    const sentAtMs = Number(log.find((entry) => entry.endsWith('unkey'))!.split(' ')[0])
    for (const afterMs of [5000, 15_000, 29_000])
      expect(await pacesFrom(sentAtMs + afterMs)).toEqual(['gather 60', 'gather 400'])
    expect(await pacesFrom(sentAtMs + 32_000)).toEqual([])
    expect(heard).toHaveLength(4)
  })

  it('comes no oftener while somebody looks on, and each row stands at its own moment', async () => {
    const { core, clock, log } = radio({ gathers: true })
    core.start()
    await clock.advanceToAsync(1000)
    log.length = 0
    const rows: number[] = []
    core.watch({ spectrum: true, audio: true }, (report) => {
      if (report.kind === 'row') rows.push(report.atWallMs)
    })
    await clock.advanceToAsync(3000)
    expect(log.filter((entry) => entry.includes('gather'))).toEqual([])
    expect(rows.length).toBeGreaterThan(12)
    const steps = rows.slice(1).map((at, index) => at - rows[index]!)
    expect(steps.every((ms) => ms === 125)).toBe(true)
  })

  it('a request finds out first what the channel is now', async () => {
    const { core, clock, log, onAir, outcomes } = radio({ gathers: true })
    core.start()
    await clock.advanceToAsync(1000)
    // Somebody begins in a piece that has not been fetched when our request comes.
    await clock.advanceToAsync(1045)
    onAir(theirs)
    await clock.advanceToAsync(1190)
    log.length = 0
    core.send(request('a', own('x')))
    expect(core.state().channelBusy).toBe(true)
    await clock.advanceToAsync(1700)
    expect(log).toEqual(['1190 gather 0'])
    await clock.advanceToAsync(6000)
    expect(log).toContain(`${Math.round(outcomes[0]!.atMs)} unkey`)
    expect(outcomes[0]).toMatchObject({ id: 'a', kind: 'sent' })
  })

  it('waits for no more than the next block on a free channel', async () => {
    const { core, clock, log } = radio({ gathers: true })
    core.start()
    await clock.advanceToAsync(1150)
    log.length = 0
    core.send(request('a', own('x')))
    expect(log).toEqual(['1150 gather 0'])
    await clock.advanceToAsync(1151)
    expect(log).toContain('1150 key')
  })
})
