import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createFileRadio, type FileRadioOptions } from '../../src/radio/fileRadio.js'
import type { TransmitOutcome } from '../../src/radio/port.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { parseEdgeLog } from '../ptt/loggedEdges.js'
import { decode, frame, ownCall, readWav, request, transmitDefaults, writeWav } from './fixtures.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-run-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const rateHz = 12_000
const startWallMs = Date.UTC(2026, 5, 1)

/** A radio over a second of silence. */
function bench(change: Partial<FileRadioOptions> = {}) {
  const clock = virtualClock(startWallMs)
  const paths = {
    ...{ inputFile: join(folder, 'in.wav'), outputFile: join(folder, 'out.wav') },
    logFile: join(folder, 'edges.log'),
  }
  writeWav(paths.inputFile, new Float32Array(rateHz), rateHz)
  const options: FileRadioOptions = {
    ...{ radio: 0, name: 'radio', clock, random: seededRandom(1), transmit: transmitDefaults },
    ...{ levelDbfs: -6, toneBalanceDb: 0, receiver: { repair: 'none' }, channel: 0, ...paths },
    outputLayout: { sampleRateHz: 48_000, sampleFormat: 's16le', channelCount: 1 },
    ...change,
  }
  const radio = createFileRadio(options)
  const outcomes: TransmitOutcome[] = []
  radio.port.onOutcome((outcome) => outcomes.push(outcome))
  const sent = (): string[] => {
    const { samples, sampleRateHz } = readWav(paths.outputFile)
    return decode(samples, sampleRateHz)
  }
  return { clock, radio, outcomes, sent, paths }
}

describe('a run over a recording', () => {
  it('ends half a second after the recording where nothing is left to do, and leaves nothing booked', async () => {
    const { clock, radio } = bench()
    let settled = 0
    const settle = async (): Promise<void> => void settled++
    const run = await radio.run({ silenceMsMax: 60_000, settle })
    expect(run).toEqual({ inputMs: 1000, totalMs: 1500, wasIdle: true })
    expect(settled).toBe(1500 / 20)
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('counts from its own beginning', async () => {
    const { clock, radio } = bench()
    clock.advanceTo(7000)
    const run = await radio.run({ silenceMsMax: 60_000 })
    expect(run).toEqual({ inputMs: 1000, totalMs: 1500, wasIdle: true })
  })

  it('goes on while others on its clock have something to do, up to the limit', async () => {
    const first = bench()
    const until = await first.radio.run({
      silenceMsMax: 60_000,
      isIdle: () => first.clock.monotonicMs() >= 2500,
    })
    expect(until).toEqual({ inputMs: 1000, totalMs: 2500, wasIdle: true })
    const second = await bench().radio.run({ silenceMsMax: 3000, isIdle: () => false })
    expect(second).toEqual({ inputMs: 1000, totalMs: 4000, wasIdle: false })
  })

  it('is shorter where the limit is below that half second', async () => {
    const run = await bench().radio.run({ silenceMsMax: 300, isIdle: () => true })
    expect(run).toEqual({ inputMs: 1000, totalMs: 1300, wasIdle: true })
  })

  it('that ends at its limit still sends the call that is owed', async () => {
    const { clock, radio, sent } = bench()
    clock.at(200, () => radio.port.send(request('a', frame('QQ9ZZ', 'x'), 'client')))
    const run = await radio.run({ silenceMsMax: 5000 })
    expect(run).toEqual({ inputMs: 1000, totalMs: 21_000, wasIdle: false })
    expect(sent()).toEqual(['QQ9ZZ>APZ000:x', `${ownCall}>ID:${ownCall}`])
  })
})

describe('what a run writes', () => {
  it('each edge of the key line with its moments, by both clocks', async () => {
    const { clock, radio, outcomes, paths } = bench()
    clock.at(200, () => radio.port.send(request('a', frame(ownCall, 'x'))))
    await radio.run({ silenceMsMax: 60_000 })
    const edges = parseEdgeLog(readFileSync(paths.logFile, 'utf8'))
    expect(edges.map(({ edge }) => edge)).toEqual(['keyed', 'unkeyed'])
    for (const { wallMs, monotonicMs } of edges)
      expect(Math.abs(wallMs - startWallMs - monotonicMs)).toBeLessThan(1)
    expect(edges[0]!.monotonicMs).toBe(200)
    const [sent] = outcomes
    const airtimeMs = sent?.kind === 'sent' ? sent.airtimeMs : Number.NaN
    expect(edges[1]!.monotonicMs).toBeCloseTo(200 + airtimeMs, 2)
  })

  it('no log of edges where none is wanted', async () => {
    const { clock, radio, outcomes, paths } = bench({ logFile: '' })
    clock.at(200, () => radio.port.send(request('a', frame(ownCall, 'x'))))
    await radio.run({ silenceMsMax: 60_000 })
    expect(outcomes.map(({ kind }) => kind)).toEqual(['sent'])
    expect(existsSync(paths.logFile)).toBe(false)
  })

  it('nothing where it has no output: it receives only', async () => {
    const { clock, radio, outcomes, paths } = bench({ outputFile: undefined })
    clock.at(200, () => radio.port.send(request('a', frame(ownCall, 'x'))))
    await radio.run({ silenceMsMax: 60_000 })
    const reason = 'there is no audio output (audio.output)'
    expect(outcomes).toEqual([{ id: 'a', kind: 'refused', atMs: 200, reason }])
    expect(existsSync(paths.outputFile)).toBe(false)
  })
})

describe('a run that cannot be', () => {
  it.each([
    ['bit-rate-sample-rate', { transmit: { ...transmitDefaults, bitRate: 9600 as const } }],
    ['identification-too-long', { transmit: { ...transmitDefaults, timeOutMs: 300 } }],
    ['audio-channel', { channel: 1 }],
  ])('%s', (code, change) => {
    expect(() => bench(change)).toThrow(expect.objectContaining({ code }))
  })

  it('an identification may take as long as the limit says, with no more than a sample added', () => {
    let shortest = 530
    const fits = (): boolean => {
      try {
        bench({ transmit: { ...transmitDefaults, timeOutMs: shortest } })
        return true
      } catch {
        return false
      }
    }
    while (!fits()) shortest += 1
    // 300 ms of key delay, 50 ms of tail; 26 octets between two flags at 1200 bit/s, some stuffing; a millisecond
    expect(shortest).toBeGreaterThan(350 + 1 + (28 * 8) / 1.2 - 1)
    expect(shortest).toBeLessThan(350 + 1 + (28 * 8) / 1.2 + 25)
  })
})
