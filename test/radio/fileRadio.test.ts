import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createFileRadio } from '../../src/radio/fileRadio.js'
import type { HeardFrame, TransmitOutcome } from '../../src/radio/port.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { parseEdgeLog } from '../ptt/loggedEdges.js'
import {
  audioWith,
  decode,
  frame,
  loudSpans,
  ownCall,
  readWav,
  request,
  transmitDefaults,
  writeWav,
} from './fixtures.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-radio-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const rateHz = 22_050

function radioOver(samples: Float32Array, transmit: TransmitOptions = transmitDefaults) {
  writeWav(join(folder, 'in.wav'), samples, rateHz)
  const clock = virtualClock()
  const radio = createFileRadio({
    ...{ radio: 0, name: 'radio', clock, random: seededRandom(1), transmit },
    ...{ levelDbfs: -6, toneBalanceDb: 0, receiver: { repair: 'none' } },
    ...{ inputFile: join(folder, 'in.wav'), channel: 0, outputFile: join(folder, 'out.wav') },
    outputLayout: { sampleRateHz: 48_000, sampleFormat: 's16le', channelCount: 1 },
    logFile: join(folder, 'edges.log'),
  })
  const heard: HeardFrame[] = []
  const outcomes: TransmitOutcome[] = []
  const events: RadioEvent[] = []
  radio.port.onFrame((heardFrame) => heard.push(heardFrame))
  radio.port.onOutcome((outcome) => outcomes.push(outcome))
  radio.port.onEvent((event) => events.push(event))
  const edges = () => parseEdgeLog(readFileSync(join(folder, 'edges.log'), 'utf8'))
  const output = () => readWav(join(folder, 'out.wav'))
  return { clock, radio, heard, outcomes, events, edges, output }
}

describe('radio over recordings', () => {
  it('answers a question: frame in, frame out, key line and audio on one time line', async () => {
    const question = audioWith(3000, rateHz, [{ atMs: 1000, octets: frame('QQ2AB-7', 'question') }])
    const { radio, heard, outcomes, edges, output } = radioOver(question)
    radio.port.onFrame(() => {
      radio.port.send(request('a', frame(ownCall, 'answer one')))
      radio.port.send(request('b', frame(ownCall, 'answer two')))
    })
    const run = await radio.run({ silenceMsMax: 60_000 })

    expect(heard).toHaveLength(1)
    // 300 ms of flags, the frame itself: 16 octets of header, 8 of text, FCS and flags, some stuffing
    expect(heard[0]!.heardAtMs).toBeGreaterThan(1000 + 300 + ((16 + 8 + 2 + 2) * 8) / 1.2)
    expect(heard[0]!.heardAtMs).toBeLessThan(1000 + 300 + ((16 + 8 + 2 + 2) * 8) / 1.2 + 10)
    const { samples, sampleRateHz } = output()
    expect(decode(samples, sampleRateHz)).toEqual([
      'QQ1RP-10>APZ000:answer one',
      'QQ1RP-10>APZ000:answer two',
    ])
    const keyed = edges()
    expect(keyed.map(({ edge }) => edge)).toEqual(['keyed', 'unkeyed'])
    const [loud] = loudSpans(samples, sampleRateHz)
    expect(Math.abs(loud!.fromMs - keyed[0]!.monotonicMs)).toBeLessThan(1)
    expect(Math.abs(loud!.toMs - keyed[1]!.monotonicMs)).toBeLessThan(1)
    // never while the question was still on the air
    expect(loud!.fromMs).toBeGreaterThan(heard[0]!.heardAtMs + 50)

    const sent = outcomes.filter((outcome) => outcome.kind === 'sent')
    expect(sent.map(({ id }) => id)).toEqual(['a', 'b'])
    const airtimeMs = sent.reduce((sum, { airtimeMs: ms }) => sum + ms, 0)
    expect(airtimeMs).toBeCloseTo(keyed[1]!.monotonicMs - keyed[0]!.monotonicMs, 2)
    expect(run.wasIdle).toBe(true)
    expect(run.inputMs).toBeCloseTo(3000, -2)
  })

  it('gives the same output every time', async () => {
    const run = async (): Promise<Buffer> => {
      const question = audioWith(2500, rateHz, [{ atMs: 500, octets: frame('QQ2AB', 'hello') }])
      const access = { ...transmitDefaults.access, persistence: 63 }
      const { radio } = radioOver(question, { ...transmitDefaults, access })
      radio.port.onFrame(() => radio.port.send(request('a', frame(ownCall, 'answer'))))
      await radio.run({ silenceMsMax: 60_000 })
      return readFileSync(join(folder, 'out.wav'))
    }
    expect((await run()).equals(await run())).toBe(true)
  })

  it('identifies after a frame of another call, once it has been quiet', async () => {
    const { radio, clock, events, output } = radioOver(new Float32Array(rateHz))
    clock.at(200, () => radio.port.send(request('a', frame('QQ9ZZ', 'of a client'), 'client')))
    await radio.run({ silenceMsMax: 60_000 })
    const { samples, sampleRateHz } = output()
    expect(decode(samples, sampleRateHz)).toEqual([
      'QQ9ZZ>APZ000:of a client',
      `${ownCall}>ID:${ownCall}`,
    ])
    const [client, call] = loudSpans(samples, sampleRateHz)
    expect(call!.fromMs - client!.toMs).toBeGreaterThan(20_000 - 1)
    expect(call!.fromMs - client!.toMs).toBeLessThan(20_100)
    expect(events.filter(({ kind }) => kind === 'identified')).toHaveLength(1)
  })

  it('adds the call in Morse where that is wanted', async () => {
    const morse = { wordsPerMinute: 20, toneHz: 800 }
    const identification = { ...transmitDefaults.identification, morse }
    const { radio, clock, output } = radioOver(new Float32Array(rateHz), {
      ...transmitDefaults,
      identification,
    })
    clock.at(200, () => radio.port.send(request('a', frame('QQ9ZZ', 'x'), 'client')))
    await radio.run({ silenceMsMax: 60_000 })
    const { samples, sampleRateHz } = output()
    const [, , ...signals] = loudSpans(samples, sampleRateHz, 40)
    // DE QQ1RP: 3+1 signals, and 4 + 4 + 5 + 3 + 4
    expect(signals).toHaveLength(24)
    const dots = signals.filter(({ fromMs, toMs }) => toMs - fromMs < 100)
    for (const { fromMs, toMs } of dots) expect(toMs - fromMs).toBeLessThanOrEqual(60)
  })

  it('sends nothing that is not allowed: refused with the reason, nothing keyed, no audio', async () => {
    for (const [change, reason] of [
      [{ enabled: false }, 'sending is not enabled (transmit.enabled)'],
      [{ call: 'N0CALL-10' }, 'N0CALL is a placeholder, not a call sign'],
    ] as const) {
      const { radio, clock, outcomes, edges, output } = radioOver(new Float32Array(rateHz), {
        ...transmitDefaults,
        ...change,
      })
      clock.at(200, () => radio.port.send(request('a', frame('QQ9ZZ', 'x'))))
      await radio.run({ silenceMsMax: 60_000 })
      expect(outcomes).toEqual([{ id: 'a', kind: 'refused', atMs: 200, reason }])
      expect(edges()).toEqual([])
      expect(output().samples).toHaveLength(0)
      rmSync(join(folder, 'edges.log'))
    }
  })

  it('waits for a channel that is busy to the end of the recording', async () => {
    const long = 'x'.repeat(250)
    const samples = audioWith(12_000, rateHz, [
      { atMs: 300, octets: frame('QQ2AB', long) },
      { atMs: 2700, octets: frame('QQ2AB', long) },
      { atMs: 5100, octets: frame('QQ2AB', long) },
    ])
    const { radio, clock, edges, outcomes } = radioOver(samples)
    const atMs = 1000
    clock.at(atMs, () => radio.port.send(request('late', frame(ownCall, 'a'), 'answer', 20_000)))
    clock.at(atMs, () => radio.port.send(request('dies', frame(ownCall, 'b'), 'answer', 4000)))
    await radio.run({ silenceMsMax: 60_000 })
    expect(outcomes.map(({ id, kind }) => `${id} ${kind}`)).toContain('late sent')
    expect(edges()[0]!.monotonicMs).toBeGreaterThan(2000)
    const loud = loudSpans(samples, rateHz)
    for (const { fromMs, toMs } of loud) {
      for (const edge of edges().filter((one) => one.edge === 'keyed'))
        expect(edge.monotonicMs > fromMs + 50 && edge.monotonicMs < toMs).toBe(false)
    }
  })
})
