import { execFileSync } from 'node:child_process'
import { createWriteStream, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { measureSpectrum } from '../../dsp/measure/spectrum.js'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { renderAudio } from '../../src/cli/encode/encodeAudio.js'
import { levelsCommand } from '../../src/cli/levels/levels.js'
import { createLevelsMeter } from '../../src/cli/levels/levelsMeter.js'
import { spectrumLines, wrapped } from '../../src/cli/levels/levelsView.js'
import type { Edges } from '../../src/devices/edges.js'
import { goodLevelDbfs } from '../../src/radio/packetAdvice.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { type AlsaHome, alsaHome, hasAlsaTools } from '../audio/alsaHome.js'
import { runCommand } from './commandBench.js'

let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-levels-'))
})
afterAll(() => rmSync(directory, { recursive: true }))

const rateHz = 12_000
const levels = (list: readonly string[], change: Partial<Edges> = {}) =>
  runCommand(levelsCommand, list, change)

/** Packets with pauses; `shape` does to each sample what a wrong setting would. */
function packets(
  options: { peakLevel?: number; toneBalanceDb?: number },
  shape: (sample: number, index: number) => number = (sample) => sample,
  timing = { preambleMs: 200, tailMs: 50, gapMs: 300 },
): Float32Array {
  const parsed = parseLine('N0CALL-7>APZ001:>testing the level of this radio')
  if (!parsed.ok) throw new Error(parsed.reason)
  const audio = renderAudio({
    frames: Array.from({ length: 4 }, () => [encodeFrame(parsed.frame)]),
    sampleRateHz: rateHz,
    peakLevel: options.peakLevel ?? 0.25,
    toneBalanceDb: options.toneBalanceDb ?? 0,
    ...timing,
    modulate: modulateTransmission,
    noise: { ebN0Db: 25, seed: 5 },
  })
  return Float32Array.from([...audio].flatMap((block) => [...block])).map(shape)
}

function recording(samples: Float32Array): string {
  const file = join(directory, 'in.wav')
  const wav = createWav(file, { sampleRateHz: rateHz, sampleFormat: 's16le', channelCount: 1 })
  wav.write(samples)
  wav.close()
  return file
}

const adviceOf = (text: string): string[] =>
  text
    .split('\n')
    .filter((line) => line.startsWith('* '))
    .map((line) => line.slice(2))

describe('levels: advice', () => {
  const clip = (limit: number) => (sample: number) => Math.max(-limit, Math.min(limit, sample))

  it.each<[string, Float32Array, RegExp[]]>([
    ['good levels', packets({}), [/^levels are good: leave them$/]],
    [
      'packets clipped by the converter',
      packets({ peakLevel: 1 }, (sample) => clip(1)(2 * sample)),
      [/^\d+\.\d % of samples clipped: turn the input down$/],
    ],
    [
      'packets clipped on the way',
      packets({ peakLevel: 1 }, (sample) => clip(0.3)(3 * sample)),
      [/^the audio is clipped before it gets here, its peaks are flat at -10 dBFS/],
    ],
    [
      'faint packets',
      packets({ peakLevel: 0.01 }),
      [/^turn the input up by about 28 dB: packets come at -43/],
    ],
    [
      'loud packets',
      packets({ peakLevel: 0.8 }),
      [/^turn the input down by about 10 dB: .* a louder sender would clip/],
    ],
    [
      'a speaker output',
      packets({ toneBalanceDb: -8 }),
      [/^2200 Hz tone 8 dB low, the mean of 4 packets heard/],
    ],
    [
      'flat audio of a data port is praised',
      packets({ toneBalanceDb: 5.3 }),
      [
        /^levels are good: leave them; the audio is flat \(2200 Hz tone [56] dB high\), as it should be/,
      ],
    ],
    [
      'high tones lifted more than flat audio explains',
      packets({ toneBalanceDb: 10 }),
      [/^2200 Hz tone (9|10) dB high, .* an equaliser or noise filter on the way/],
    ],
    [
      'hum of the mains',
      packets({}, (sample, index) => sample + 0.1 * Math.sin((2 * Math.PI * 50 * index) / rateHz)),
      [/^hum at 50 Hz, -23 dBFS/],
    ],
    [
      'an offset',
      packets({}, (sample) => sample + 0.1),
      [/^the audio stands 10 % of full scale off/],
    ],
    ['silence', new Float32Array(rateHz), [/^silence: is the radio on/]],
    [
      'a closed squelch',
      new Float32Array(rateHz).map((_, index) => 1e-3 * Math.sin(index)),
      [/^the audio is faint, -63 dBFS/, /^no packet heard yet/],
    ],
  ])('%s', async (_, samples, expected) => {
    const run = await levels([recording(samples)])
    const advice = adviceOf(run.stdout)
    expect(advice).toHaveLength(expected.length)
    expected.forEach((pattern, index) => {
      expect(advice[index]).toMatch(pattern)
    })
    expect(run.exitCode).toBe(0)
  })
})

describe('levels: the meter', () => {
  it('prints a line a second, the packets, and the sum', async () => {
    const run = await levels([recording(packets({}))])
    const lines = run.stdout.split('\n')
    const meter =
      /^ +0:0\d\.\d {2}level +-\d+\.\d dBFS {2}peak +-\d+\.\d dBFS {2}noise +-\d+\.\d dBFS {2}clipped 0\.00 %/
    expect(lines.filter((line) => meter.test(line)).length).toBeGreaterThanOrEqual(4)
    expect(
      run.stdout.match(/packet of N0CALL-7: level -15\.\d dBFS, space 0\.\d dB/g),
    ).toHaveLength(4)
    expect(run.stdout).toMatch(/in all:\n.*4 packets\n/)
  })

  it('draws over itself on a terminal and stays inside its width', async () => {
    const stdout = Object.assign(new PassThrough(), { isTTY: true, columns: 70 })
    const chunks: Buffer[] = []
    stdout.on('data', (chunk: Buffer) => chunks.push(chunk))
    await levels([recording(packets({}))], { stdout, env: { TERM: 'xterm' } })
    const drawings = Buffer.concat(chunks).toString().split('\x1b[J')
    expect(drawings.length).toBeGreaterThan(4)
    let height = 0
    for (const drawing of drawings.slice(0, -1)) {
      const up = /^\x1b\[(\d+)A\r/.exec(drawing)
      expect(Number(up?.[1] ?? 0)).toBe(height)
      const lines = drawing.replace(/^\x1b\[\d+A\r/, '').split('\x1b[K\n')
      height = lines.length - 1
      for (const line of lines) expect([...line].length).toBeLessThan(70)
    }
    expect(drawings.at(-2)).toMatch(/packets {2}4, the last \d s ago\x1b\[K\nN0CALL-7: level/)
  })

  it('noise is what the quiet between packets has, never a packet', async () => {
    const noiseOf = (text: string): string => /in all:\n.*noise +(\S+)/.exec(text)![1]!
    // packets and their pauses: noise lies some 20 dB below them
    const pauses = Number(noiseOf((await levels([recording(packets({}))])).stdout))
    expect(pauses).toBeGreaterThan(-45)
    expect(pauses).toBeLessThan(-30)
    // flags for seconds and no pause: a meter of all there is would call them noise at -15 dBFS
    const carrier = packets({}, undefined, { preambleMs: 3000, gapMs: 0, tailMs: 0 })
    const noise = noiseOf((await levels([recording(carrier)])).stdout)
    expect(noise === 'unknown' || Number(noise) < -30).toBe(true)
  })

  it('README aims at what the advice goes by', () => {
    const readme = readFileSync(new URL('../../README.md', import.meta.url), 'utf8')
    expect(readme).toContain(
      `a level of ${goodLevelDbfs.aim} dBFS; from ${goodLevelDbfs.min} to ${goodLevelDbfs.max} is good`,
    )
  })

  it('the spectrum shows a tone at its place', () => {
    const tone = Float32Array.from({ length: 24_000 }, (_, index) =>
      Math.sin((2 * Math.PI * 2200 * index) / 48_000),
    )
    const lines = spectrumLines(measureSpectrum(tone, { sampleRateHz: 48_000, size: 4096 }))
    const axis = lines.at(-1)!
    expect(axis).toMatch(/^0 +1200 +2200 +3000 +4000 Hz$/)
    expect(lines[0]!.trimStart()).toMatch(/^.?█.?$/)
    expect(Math.abs(lines[0]!.indexOf('█') - axis.indexOf('2200'))).toBeLessThanOrEqual(1)
  })

  it('recent levels forget what lies more than ten seconds back', () => {
    const meter = createLevelsMeter(8000)
    const loud = new Float32Array(8000).fill(1)
    const quiet = new Float32Array(8000).fill(0.01)
    meter.push(loud, false)
    expect(meter.recent().peakDbfs).toBeCloseTo(0, 5)
    for (let second = 0; second < 11; second++) meter.push(quiet, false)
    expect(meter.recent().peakDbfs).toBeCloseTo(-40, 3)
    expect(meter.recent().durationS).toBeGreaterThan(4)
    expect(meter.total().peakDbfs).toBeCloseTo(0, 5)
    expect(meter.takeLatest().durationS).toBe(12)
    expect(meter.takeLatest().durationS).toBe(0)
  })

  it('words are broken, not cut', () => {
    expect(wrapped('one two three four', 9)).toEqual(['* one two', '  three', '  four'])
  })
})

describe('levels: inputs', () => {
  const homes: AlsaHome[] = []
  afterEach(() => {
    for (const home of homes.splice(0)) home.remove()
  })

  it.skipIf(!hasAlsaTools)(
    'a sound card through arecord (alsa-utils; skipped without it)',
    async () => {
      const home = alsaHome()
      homes.push(home)
      // A FIFO in place of a card: its writer ends, the recording goes on with silence or stops.
      execFileSync('mkfifo', [home.recordedFile])
      const writer = createWriteStream(home.recordedFile)
      writer.write(encodePcm(packets({}), 's16le', 1, 2))
      const list = ['alsa:testin', '--rate', String(rateHz), '--channels', '2', '--channel', '1']
      const run = await levels([...list, '--seconds', '3'], { env: home.env, clock: systemClock() })
      writer.destroy()
      expect(run.stdout).toMatch(/packet of N0CALL-7: level -15\.\d dBFS/)
      expect(run.exitCode).toBe(0)
    },
  )

  it.skipIf(!hasAlsaTools)('a card that is not there: told, and status 1', async () => {
    const home = alsaHome()
    homes.push(home)
    const list = ['alsa:nosuch', '--seconds', '0.1']
    const run = await levels(list, { env: home.env, clock: systemClock() })
    expect(run.stderr).toMatch(/alsa:nosuch: got Unknown PCM nosuch.*levels --list/)
    expect(adviceOf(run.stdout)).toEqual(['no audio has come'])
    expect(run.exitCode).toBe(1)
  })

  it('raw PCM on standard input', async () => {
    const stdin = new PassThrough()
    stdin.end(encodePcm(packets({}), 's16le'))
    const run = await levels(['pcm:-', '--rate', String(rateHz)], { stdin })
    expect(run.stdout).toMatch(/4 packets/)
  })

  it('the input of a configuration', async () => {
    const config = join(directory, 'node.toml')
    // Files in a configuration are named as seen from its folder.
    const file = recording(packets({}))
    writeFileSync(config, `[audio]\ninput = "wav:in.wav"\n`)
    expect((await levels(['--config', config])).stdout).toMatch(/4 packets/)
    expect(await levels(['--config', config, '--radio', '1'])).toMatchObject({ exitCode: 2 })
    expect(await levels([file, '--config', config])).toMatchObject({ exitCode: 2 })
  })

  it.skipIf(!hasAlsaTools)(
    '--list tells the cards of this machine, or that there is none',
    async () => {
      const run = await levels(['--list'], { env: process.env })
      expect(run.stdout).toMatch(
        /^inputs\n( {2}(alsa:plughw:CARD=\S+|no sound card found).*\n)+outputs\n {2}/,
      )
      expect(run.exitCode).toBe(0)
    },
  )

  it.each([
    ['hw:1', /got "hw:1".*did you mean "alsa:hw:1"/],
    ['missing.wav', /missing.wav: cannot be read: no such file/],
  ])('%s is a failure', async (input, message) => {
    const run = await levels([input])
    expect(run.stderr).toMatch(message)
    expect(run.exitCode).toBe(1)
  })

  it('a channel that a recording has not is a failure', async () => {
    const run = await levels([recording(packets({})), '--channel', '3'])
    expect(run.stderr).toContain('got channel 3, expected channel 0, the only one')
  })
})
