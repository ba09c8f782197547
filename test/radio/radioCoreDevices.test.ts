import { describe, expect, it } from 'vitest'
import { toneModem } from '../../dsp/modem/modems.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import { failure, own, radio, rateHz } from './coreBench.js'
import { frame, request, transmitDefaults } from './fixtures.js'

const told = (events: RadioEvent[]): string[] =>
  events.splice(0).map(({ kind, reason }) => `${kind}: ${reason}`)

describe('a key line', () => {
  it('that is lost holds with what is wrong in short, is told once for each reason, and lets go when it is back', async () => {
    const { core, clock, events, line } = radio()
    core.start()
    await clock.advanceToAsync(100)
    told(events)
    line().onLost(failure('unplugged'))
    line().onLost(failure('unplugged'))
    expect(core.state().transmitBlockedBy).toBe('held by key line: unplugged')
    line().onLost(failure('no rights'))
    expect(told(events)).toEqual([
      ...['fault: device: got unplugged, expected none', 'hold: key line: unplugged'],
      ...['fault: device: got no rights, expected none', 'hold: key line: no rights'],
    ])
    line().onReady()
    expect(told(events)).toEqual(['recovered: key line is ready', 'release: key line'])
    line().onLost(failure('no rights'))
    expect(told(events)).toHaveLength(2)
  })

  it('that is not ready yet keys nothing, though all else is', async () => {
    const { core, clock, line, log, outcomes, wants } = radio()
    wants.ready = false
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(3000)
    expect(core.state().holds).toEqual([
      { source: 'key line', reason: 'not ready yet', sinceMs: 0 },
    ])
    expect(log.filter((entry) => entry.endsWith(' key'))).toEqual([])
    line().onReady()
    await clock.advanceToAsync(6000)
    expect(outcomes.at(-1)).toMatchObject({ id: 'a', kind: 'sent' })
  })

  it('that goes on after a fault has it told', async () => {
    const { core, clock, events, line } = radio()
    core.start()
    await clock.advanceToAsync(100)
    told(events)
    line().onFault('its log cannot be written')
    expect(events).toMatchObject([{ kind: 'fault', atMs: 100, radio: 3 }])
    expect(told(events)).toEqual(['fault: its log cannot be written'])
    expect(core.state().transmitBlockedBy).toBeUndefined()
  })

  it('that is not asked after a cut, where nobody is to say so', async () => {
    const { core, clock, line, outcomes } = radio()
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    line().onCut(100, 'no sign of life')
    expect(core.state().holds).toEqual([])
    core.send(request('b', own('x')))
    await clock.advanceToAsync(5000)
    expect(outcomes.at(-1)).toMatchObject({ id: 'b', kind: 'sent' })
  })
})

describe('an audio input', () => {
  it('flows, is deaf when nothing has come for a second, and flows again: told each time', async () => {
    let channels = 0
    const { core, clock, events, wants } = radio({ onChannel: () => channels++ })
    core.start()
    expect(core.state()).toMatchObject({ receiving: false, channelBusy: true })
    await clock.advanceToAsync(500)
    expect(events.map(({ reason }) => reason)).toContain('the audio input flows')
    expect([core.state().channelBusy, channels]).toEqual([false, 1])
    wants.flows = false
    told(events)
    // the last block came at 500 ms
    await clock.advanceToAsync(1499)
    expect(core.state().receiving).toBe(true)
    await clock.advanceToAsync(1500)
    expect(core.state()).toMatchObject({ receiving: false, channelBusy: true })
    expect(events[0]!.atMs).toBe(1500)
    expect(channels).toBe(2)
    await clock.advanceToAsync(9000)
    expect(told(events)).toEqual(['fault: the audio input is silent: nothing came for a second'])
    wants.flows = true
    await clock.advanceToAsync(9100)
    expect(told(events)).toEqual(['recovered: the audio input flows'])
    expect(core.state()).toMatchObject({ receiving: true, channelBusy: false })
  })

  it('that ends is told once, and its channel counts as busy', async () => {
    const { core, clock, events, source, wants } = radio()
    core.start()
    await clock.advanceToAsync(500)
    wants.flows = false
    told(events)
    source().onEnd()
    source().onEnd()
    expect(core.state()).toMatchObject({ receiving: false, channelBusy: true })
    await clock.advanceToAsync(5000)
    expect(told(events)).toEqual(['fault: the audio input has ended'])
  })

  it('that a receiver cannot stand is told, and heard by a new one, with its moments right', async () => {
    let isBroken = false
    let made = 0
    const modem = {
      ...toneModem,
      createReceiver(options: Parameters<typeof toneModem.createReceiver>[0]) {
        made++
        const receiver = toneModem.createReceiver(options)
        const push = receiver.push.bind(receiver)
        return Object.assign(receiver, {
          push(block: Float32Array) {
            if (isBroken) throw new Error('on purpose')
            return push(block)
          },
        })
      },
    }
    const { core, clock, events, heard, onAir } = radio({ modem })
    core.start()
    await clock.advanceToAsync(490)
    told(events)
    isBroken = true
    await clock.advanceToAsync(510)
    isBroken = false
    expect(made).toBe(2)
    expect(told(events)).toEqual([
      expect.stringMatching(/^fault: audio that was received: on purpose/),
    ])
    expect(core.state().faultCount).toBe(1)
    await clock.advanceToAsync(1000)
    const octets = frame('QQ2AB', 'x')
    onAir(octets)
    await clock.advanceToAsync(3000)
    const bare = toneModem.modulate({
      ...{ frames: [octets], preambleMs: 100, tailMs: 0, sampleRateHz: rateHz, peakLevel: 0.5 },
    })
    expect(heard).toHaveLength(1)
    expect(Math.abs(heard[0]!.heardAtMs - 1000 - (bare.length * 1000) / rateHz)).toBeLessThan(2)
    expect(heard[0]!.heardAtWallMs - heard[0]!.heardAtMs).toBeCloseTo(Date.UTC(2026, 0, 1), 0)
  })
})

describe('an audio output', () => {
  it('gets the level that is set: -6 dB of full scale are 0.501', async () => {
    const { core, clock, played } = radio()
    core.start()
    await clock.advanceToAsync(100)
    core.send(request('a', own('x')))
    await clock.advanceToAsync(200)
    const peak = played[0]!.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0)
    expect(peak).toBeCloseTo(10 ** (-6 / 20), 2)
  })

  it('that stays away is told once, and held in short', async () => {
    const { core, clock, events, wants } = radio()
    Object.assign(wants, { prepare: false, flows: false })
    core.start()
    await clock.advanceToAsync(20_000)
    expect(events.filter(({ kind }) => kind === 'fault').map(({ reason }) => reason)).toEqual([
      'device: got no card, expected none',
    ])
    expect(core.state().transmitBlockedBy).toBe('held by audio output: no card')
    wants.prepare = true
    told(events)
    await clock.advanceToAsync(40_000)
    expect(told(events)).toEqual(['recovered: audio output is ready', 'release: audio output'])
  })

  it('is tried again after 1, 2, 4 s and so on to half a minute, and from the start after audio that went out', async () => {
    const { core, clock, log, wants } = radio()
    Object.assign(wants, { prepare: false, flows: false })
    core.start()
    await clock.advanceToAsync(130_000)
    const attempts = (): number[] =>
      log.filter((entry) => entry.endsWith('prepare')).map((entry) => Number(entry.split(' ')[0]))
    const waits = attempts().map((atMs, index, all) => atMs - (all[index - 1] ?? 0))
    expect(waits).toEqual([0, 1000, 2000, 4000, 8000, 16_000, 30_000, 30_000, 30_000])
    Object.assign(wants, { prepare: true, flows: false })
    await clock.advanceToAsync(160_000)
    wants.flows = true
    core.send(request('a', own('x')))
    await clock.advanceToAsync(162_000)
    log.length = 0
    wants.play = 'fails'
    core.send(request('b', own('x')))
    await clock.advanceToAsync(164_000)
    const failedAtMs = Number(log.find((entry) => entry.endsWith('play'))!.split(' ')[0])
    expect(attempts()).toEqual([failedAtMs + 1000])
  })
})

describe('an output that opens and then fails', () => {
  it('is tried ever more slowly: only audio that went out starts the waits anew', async () => {
    const { core, clock, log, wants } = radio()
    wants.play = 'fails'
    core.start()
    await clock.advanceToAsync(100)
    for (let count = 0; count < 20; count++) core.send(request(`a${count}`, own('x'.repeat(200))))
    await clock.advanceToAsync(9000)
    const moments = log
      .filter((entry) => entry.endsWith(' play'))
      .map((entry) => Number(entry.split(' ')[0]))
    const pauses = moments.slice(1).map((atMs, index) => atMs - moments[index]!)
    expect(pauses.slice(0, 3).map((ms) => Math.round(ms / 1000))).toEqual([1, 2, 4])
  })
})

describe('what a radio core is asked', () => {
  it('goes to its controller: tones, settings, what is taken back, holds', async () => {
    const { core, clock, outcomes, played } = radio()
    core.start()
    await clock.advanceToAsync(100)
    core.hold('operator', 'lunch')
    core.send(request('a', own('x')))
    core.withdraw('a')
    expect(outcomes.at(-1)).toMatchObject({ id: 'a', kind: 'refused', reason: 'it was taken back' })
    core.setAccess({ tailMs: 70 })
    expect(core.access()).toEqual({ ...transmitDefaults.access, tailMs: 70 })
    core.release('operator')
    core.sendTone({ id: 't', tone: 'mark', durationMs: 1000, notAfterMs: 1e9 })
    await clock.advanceToAsync(3000)
    expect(outcomes.at(-1)).toMatchObject({ id: 't', kind: 'sent' })
    expect(played[0]).toHaveLength(rateHz)
    expect(core.past()).toEqual({ spans: [expect.any(Object)], owedSinceMs: expect.any(Number) })
    expect(core.duty()).toEqual({ limits: transmitDefaults.dutyLimits, ...core.past() })
    const { dutyLimits } = transmitDefaults
    const least = Math.min(...dutyLimits.map(({ share, windowMs }) => share * windowMs))
    expect(core.airtime().allowanceMs).toBe(least)
  })

  it('closing is done once; nothing is booked or held after it', async () => {
    const { core, clock, events, log, source } = radio()
    core.start()
    await clock.advanceToAsync(500)
    log.length = 0
    await core.close()
    await core.close()
    expect(log.filter((entry) => entry.endsWith('closed'))).toEqual([
      ...['500 line closed', '500 sink closed', '500 source closed'],
    ])
    told(events)
    source().onEnd()
    await clock.advanceToAsync(5000)
    expect(told(events)).toEqual([])
  })

  it('closing while the output is being prepared, or tried again, leaves it alone', async () => {
    const { core, clock, events, log, wants } = radio()
    Object.assign(wants, { prepare: false, flows: false })
    core.start()
    await clock.advanceToAsync(500)
    await core.close()
    const before = [events.length, log.length]
    await clock.advanceToAsync(60_000)
    expect([events.length, log.length]).toEqual(before)
  })
})
