import { describe, expect, it } from 'vitest'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { failure, keyOrder, own, radio, rateHz } from './coreBench.js'
import { frame, request, transmitDefaults } from './fixtures.js'

describe('radio core', () => {
  it('at the start: the line first, then silence, then the device', async () => {
    const { core, clock, log } = radio()
    core.start()
    await clock.advanceToAsync(100)
    expect(keyOrder(log)).toEqual(['line open', 'stop', 'prepare'])
  })

  it('keys, plays, unkeys, in that order and at those times', async () => {
    const { core, clock, log, outcomes } = radio()
    core.start()
    await clock.advanceToAsync(100)
    log.length = 0
    core.send(request('a', own('x')))
    await clock.advanceToAsync(5000)
    expect(keyOrder(log)).toEqual(['key', 'play', 'unkey'])
    expect(log[0]).toBe('100 key')
    expect(log[1]).toBe('100 play')
    expect(outcomes).toEqual([expect.objectContaining({ id: 'a', kind: 'sent' })])
  })

  it('cuts audio that hangs: unkey, then silence, then told', async () => {
    const { core, clock, log, reasons, wants } = radio()
    core.start()
    wants.play = 'hangs'
    await clock.advanceToAsync(100)
    log.length = 0
    core.send(request('a', own('x')))
    await clock.advanceToAsync(20_000)
    expect(log).toEqual(['100 key', '100 play', '8090 unkey', '8090 stop'])
    expect(reasons()).toEqual(['cut after 7990 ms: the time-out timer (8000 ms) ended it'])
    // and the next one works
    wants.play = 'plays'
    core.send(request('b', own('y')))
    await clock.advanceToAsync(40_000)
    expect(reasons().at(-1)).toBe('sent')
  })

  it('unkeys when the audio fails, and when the line does', async () => {
    for (const [device, reason] of [
      ['play', /^cut after 0 ms: audio output: device: got card gone/],
      ['key', /^cut after 0 ms: device: got no such line/],
    ] as const) {
      const { core, clock, log, reasons, wants } = radio()
      core.start()
      wants[device] = 'fails'
      await clock.advanceToAsync(100)
      log.length = 0
      core.send(request('a', own('x')))
      await clock.advanceToAsync(200)
      expect(keyOrder(log)).toContain('unkey')
      expect(reasons()[0]).toMatch(reason)
    }
  })

  it('an output that fails keys no bare carrier again and again, also for an identification', async () => {
    const { core, clock, log, reasons, wants } = radio()
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', frame('QQ9ZZ', 'of a client: an identification is owed'), 'client'))
    await clock.advanceToAsync(3000)
    wants.play = 'fails'
    wants.prepare = false
    log.length = 0
    for (let count = 0; count < 20; count++) core.send(request(`b${count}`, own('x'.repeat(200))))
    await clock.advanceToAsync(100_000)
    expect(log.filter((entry) => entry.endsWith(' key'))).toHaveLength(1)
    // a card that opens and then fails is tried ever more slowly
    wants.prepare = true
    log.length = 0
    await clock.advanceToAsync(160_000)
    expect(log.filter((entry) => entry.endsWith(' key')).length).toBeLessThan(6)
    wants.play = 'plays'
    await clock.advanceToAsync(200_000)
    core.send(request('c', own('y')))
    await clock.advanceToAsync(220_000)
    expect(reasons().at(-1)).toBe('sent')
  })

  it('holds while the line or the output is not ready, and goes on by itself', async () => {
    const { core, clock, line, log, reasons, wants } = radio()
    wants.ready = false
    wants.prepare = false
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    line().onReady()
    await clock.advanceToAsync(4000)
    expect(keyOrder(log)).not.toContain('key')
    expect(reasons().at(-1)).toBe('held by audio output: no card')
    wants.prepare = true
    await clock.advanceToAsync(20_000)
    expect(reasons().at(-1)).toBe('sent')
    // tried again after 1 s, 2 s, 4 s
    expect(log.filter((entry) => entry.endsWith('prepare'))).toEqual([
      ...['0 prepare', '1000 prepare', '3000 prepare', '7000 prepare'],
    ])
  })

  it('keys nothing before the output is ready, and says what it waits for', async () => {
    const { clock, core, reasons } = radio()
    core.start()
    // The line was ready at once; the output's preparing has not come to its end.
    core.send(request('a', own('x')))
    expect(core.state().holds).toEqual([
      { source: 'audio output', reason: 'not ready yet', sinceMs: 0 },
    ])
    expect(core.state().keyed).toBe(false)
    await clock.advanceToAsync(5000)
    expect(reasons()).toEqual(['held by audio output: not ready yet', 'sent'])
  })

  it('tells a fault of the audio input, and a line that does not answer when it is unkeyed', async () => {
    const { clock, core, events, source, wants } = radio()
    core.start()
    await clock.advanceToAsync(100)
    source().onFault(failure('a gap'))
    wants.unkey = 'waits'
    core.send(request('a', own('x')))
    await clock.advanceToAsync(20_000)
    const faults = events.filter(({ kind }) => kind === 'fault').map(({ reason }) => reason)
    expect(faults[0]).toMatch(/^audio input: device: got a gap/)
    expect(faults).toContain('the key line has not answered; unkeying again')
    // in doubt it counts as keyed
    expect(core.state().keyed).toBe(true)
  })

  it('takes a line that went off by itself as the end', async () => {
    const { core, clock, line, log, reasons } = radio()
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(300)
    line().onCut(290, 'no sign of life for 150 ms')
    await clock.advanceToAsync(400)
    expect(keyOrder(log).slice(-2)).toEqual(['unkey', 'stop'])
    expect(reasons()).toEqual(['cut after 190 ms: no sign of life for 150 ms'])
  })

  it('a deaf receiver is a busy channel', async () => {
    const { core, clock, events, reasons, wants } = radio()
    core.start()
    await clock.advanceToAsync(500)
    wants.flows = false
    await clock.advanceToAsync(2000)
    expect(core.state()).toMatchObject({ receiving: false, channelBusy: true })
    core.send(request('a', own('x'), 'answer', 4000))
    await clock.advanceToAsync(5000)
    expect(reasons()).toEqual(['the channel was busy'])
    expect(events.some(({ reason }) => reason.startsWith('the audio input is silent'))).toBe(true)
    wants.flows = true
    core.send(request('b', own('x')))
    await clock.advanceToAsync(8000)
    expect(reasons().at(-1)).toBe('sent')
  })

  it('a broken converter that is off zero, or tells no numbers, does not occupy the channel', async () => {
    const { core, clock, heard, onAir, reasons, source } = radio()
    core.start()
    onAir(frame('QQ2AB', 'off zero'), 0.4, 0.05)
    await clock.advanceToAsync(1500)
    expect(heard).toHaveLength(1)
    source().onBlock(new Float32Array(240).fill(Number.NaN))
    source().onBlock(new Float32Array(12_000).fill(0.05))
    await clock.advanceToAsync(2500)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(5000)
    expect(reasons()).toEqual(['sent'])
  })

  it('does not hear its own transmission in half duplex, but does in full duplex', async () => {
    for (const fullDuplex of [false, true]) {
      const access = { ...transmitDefaults.access, fullDuplex, keyDelayMs: 1500 }
      const { core, clock, heard, onAir } = radio({ transmit: { access } })
      core.start()
      await clock.advanceToAsync(100)
      core.send(request('a', own('x')))
      await clock.advanceToAsync(200)
      onAir(own('our own audio comes back'))
      await clock.advanceToAsync(5000)
      expect(heard).toHaveLength(fullDuplex ? 1 : 0)
    }
  })

  it('counts the moment of a frame by its samples', async () => {
    const { core, clock, heard, onAir } = radio()
    core.start()
    await clock.advanceToAsync(1000)
    const octets = frame('QQ2AB', 'x')
    onAir(octets)
    await clock.advanceToAsync(3000)
    const common = { frames: [octets], preambleMs: 100, tailMs: 0 }
    const bare = modulateTransmission({ ...common, sampleRateHz: rateHz, peakLevel: 0.5 })
    const endMs = 1000 + (bare.length * 1000) / rateHz
    expect(Math.abs(heard[0]!.heardAtMs - endMs)).toBeLessThan(2)
    expect(heard[0]).toMatchObject({ radio: 3, repairedBits: 0 })
  })

  it('without an output it receives only, and says so', async () => {
    const { core, clock, heard, onAir, reasons } = radio({ withoutSink: true })
    core.start()
    onAir(frame('QQ2AB', 'x'))
    await clock.advanceToAsync(1500)
    core.send(request('a', own('x')))
    expect(heard).toHaveLength(1)
    expect(reasons()).toEqual(['there is no audio output (audio.output)'])
  })

  it('at the end: sends our call where it is owed, unkeys, closes everything', async () => {
    const { core, clock, log, events, outcomes } = radio()
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', frame('QQ9ZZ', 'of a client'), 'client'))
    await clock.advanceToAsync(2000)
    core.send(request('b', own('x'.repeat(200))))
    const closing = core.close()
    core.send(request('c', own('y')))
    await clock.advanceToAsync(30_000)
    await closing
    expect(events.filter(({ kind }) => kind === 'identified')).toHaveLength(0)
    // b carries our call: nothing is owed once it is out
    expect(outcomes.map(({ id, kind }) => `${id} ${kind}`)).toEqual([
      ...['a sent', 'c refused', 'b sent'],
    ])
    expect(keyOrder(log).slice(-4)).toEqual([
      ...['stop', 'line closed', 'sink closed', 'source closed'],
    ])
  })

  it('at the end: says that our call is owed where nobody hears whether the channel is free', async () => {
    const { core, clock, events, played, wants } = radio()
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', frame('QQ9ZZ', 'of a client'), 'client'))
    await clock.advanceToAsync(2000)
    wants.flows = false
    await clock.advanceToAsync(4000)
    const silent = 'the audio input is silent: nothing came for a second'
    const faults = (): (string | undefined)[] =>
      events.filter(({ kind }) => kind === 'fault').map(({ reason }) => reason)
    const closing = core.close()
    await clock.advanceToAsync(15_999)
    expect(faults()).toEqual([silent])
    await clock.advanceToAsync(16_000)
    await closing
    expect(played).toHaveLength(1)
    expect(faults()).toEqual([
      silent,
      'the identification owed for 16 s did not go out before the end: the channel is busy',
    ])
  })

  it('at the end: does not wait for ever for audio that hangs', async () => {
    const { core, clock, log, reasons, wants } = radio({ transmit: { timeOutMs: 30_000 } })
    core.start()
    wants.play = 'hangs'
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(200)
    const closing = core.close()
    await clock.advanceToAsync(20_000)
    await closing
    expect(keyOrder(log)).toContain('line closed')
    expect(log.find((entry) => entry.endsWith('unkey'))).toBe('12200 unkey')
    expect(reasons()).toEqual(['cut after 12100 ms: the radio is being closed'])
  })
})
