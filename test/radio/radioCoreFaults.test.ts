import { describe, expect, it } from 'vitest'
import { contentDurationMs } from '../../src/radio/transmissionAudio.js'
import { keyOrder, own, radio } from './coreBench.js'
import { frame, request, transmitDefaults } from './fixtures.js'

describe('after a cut by the guard of the key line', () => {
  it('nothing is keyed until it is told that it may', async () => {
    const cuts: string[] = []
    const { core, clock, line, log, outcomes, wants } = radio({
      onCut: (reason) => cuts.push(reason),
    })
    core.start()
    await clock.advanceToAsync(100)
    wants.play = 'hangs'
    core.send(request('a', own('x')))
    await clock.advanceToAsync(500)
    core.send(request('b', own('y')))
    log.length = 0
    line().onCut(500, 'no sign of life for 150 ms')
    wants.play = 'plays'
    await clock.advanceToAsync(60_000)
    expect(cuts).toEqual(['no sign of life for 150 ms'])
    expect(log.filter((one) => one.endsWith(' key'))).toEqual([])
    expect(outcomes.map(({ id, kind }) => `${id} ${kind}`)).toEqual([...['a refused', 'b held']])
    expect(core.state().transmitBlockedBy).toBe(
      'held by guard of the key line: no sign of life for 150 ms',
    )
    core.mayKeyAgain()
    await clock.advanceToAsync(70_000)
    expect(outcomes.at(-1)).toMatchObject({ id: 'b', kind: 'sent' })
  })

  it('one that had hung, and asked for the end before it heard of the cut, does not tell it as sent', async () => {
    const { core, clock, line, log, outcomes, wants } = radio({ onCut: () => {} })
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(300)
    // The thread hangs here; when it turns again its timers come before what has been waiting in the pipe.
    wants.unkey = 'waits'
    await clock.advanceToAsync(900)
    expect(keyOrder(log).slice(-1)).toEqual(['unkey'])
    line().onCut(400, 'no sign of life for 150 ms')
    await clock.advanceToAsync(20_000)
    expect(outcomes).toEqual([
      expect.objectContaining({
        id: 'a',
        kind: 'refused',
        reason: expect.stringMatching(/cut after 300 ms: no sign of life/),
      }),
    ])
    expect(log.filter((one) => one.endsWith(' key'))).toHaveLength(1)
  })
})

describe('a listener that throws', () => {
  it('is told as a fault once, and loses neither a frame nor an outcome', async () => {
    const { core, clock, events, heard, onAir, outcomes } = radio()
    const fail = (): never => {
      throw new Error('on purpose')
    }
    core.onFrame(fail)
    core.onOutcome(fail)
    core.onEvent(fail)
    core.start()
    await clock.advanceToAsync(100)
    onAir(frame('QQ9ZZ', 'heard'))
    await clock.advanceToAsync(3000)
    for (const id of ['a', 'b', 'c']) core.send(request(id, own(id)))
    await clock.advanceToAsync(20_000)
    expect(heard).toHaveLength(1)
    expect(outcomes.map(({ id, kind }) => `${id} ${kind}`)).toEqual(['a sent', 'b sent', 'c sent'])
    const faults = events.filter(({ kind }) => kind === 'fault').map(({ reason }) => reason)
    for (const what of ['a frame that was heard', 'the outcome of a request'])
      expect(faults.filter((reason) => reason.startsWith(`${what}: on purpose`))).toHaveLength(1)
  })
})

describe('a radio that stays on the air by itself after its audio', () => {
  const hangMs = 700
  const transmit = { hangMs }

  it('counts its hang: the line goes off with the audio, and the transmission ends later', async () => {
    const { core, clock, events, log, outcomes } = radio({ transmit })
    core.start()
    await clock.advanceToAsync(100)
    log.length = 0
    core.send(request('a', own('x')))
    await clock.advanceToAsync(1000)
    const unkeyMs = Number(log.find((one) => one.endsWith(' unkey'))!.split(' ')[0])
    expect(core.state().keyed).toBe(true)
    expect(outcomes).toEqual([])
    await clock.advanceToAsync(5000)
    const airtimeMs = outcomes.reduce(
      (sum, one) => sum + (one.kind === 'sent' ? one.airtimeMs : Number.NaN),
      0,
    )
    expect(airtimeMs).toBeCloseTo(unkeyMs - 100 + hangMs, 0)
    const off = events.find(({ kind }) => kind === 'unkeyed')!
    expect(Math.round(off.atMs)).toBe(unkeyMs + hangMs)
    // asked for once: a hang is no line that does not answer
    expect(keyOrder(log).filter((what) => what === 'unkey')).toHaveLength(1)
    expect(events.filter(({ kind }) => kind === 'fault')).toEqual([])
  })

  it('says that it did not hear who began meanwhile', async () => {
    const { core, clock, events, heard, onAir } = radio({ transmit })
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(400)
    expect(core.state().keyed).toBe(true)
    // an answer that begins 200 ms before the hang is over, and lasts a second
    const offMs = 100 + Math.round(airtimeMsOf(own('x')) + hangMs)
    await clock.advanceToAsync(offMs - 200)
    onAir(frame('QQ9ZZ', 'x'.repeat(100)))
    await clock.advanceToAsync(offMs + 3000)
    expect(heard).toEqual([])
    const unheard = events.filter(({ kind }) => kind === 'unheard')
    expect(unheard.map(({ reason }) => reason)).toEqual([
      'somebody was sending already when our hang of 700 ms ended: what began in it was not heard',
    ])
    expect(unheard[0]!.atMs - offMs).toBeGreaterThanOrEqual(0)
    // one that waits until we are off is heard, and nothing is said
    core.send(request('b', own('y')))
    await clock.advanceToAsync(offMs + 6000)
    onAir(frame('QQ9ZZ', 'heard'))
    await clock.advanceToAsync(offMs + 9000)
    expect(heard).toHaveLength(1)
    expect(events.filter(({ kind }) => kind === 'unheard')).toHaveLength(1)
  })

  it('is off before it is closed', async () => {
    const { core, clock, events } = radio({ transmit })
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x'.repeat(200))))
    await clock.advanceToAsync(500)
    let isClosed = false
    void core.close().then(() => {
      isClosed = true
    })
    while (!isClosed) await clock.advanceToAsync(clock.monotonicMs() + 20)
    expect(events.filter(({ kind }) => kind === 'unkeyed')).toHaveLength(1)
  })
})

const airtimeMsOf = (octets: Uint8Array): number => {
  const { keyDelayMs, tailMs } = transmitDefaults.access
  return contentDurationMs({ kind: 'frames', frames: [octets], preambleMs: keyDelayMs, tailMs })
}
