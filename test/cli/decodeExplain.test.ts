import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { whiteNoise } from '../../dsp/channel/noise.js'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { findProgram } from '../../src/devices/child.js'
import { seededRandom } from '../../src/runtime/random.js'
import { addNoise } from '../channel/addNoise.js'
import { shift } from '../channel/troubles.js'
import { runCommand } from './commandBench.js'

const sampleRateHz = 9600
let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-explain-'))
})
afterAll(() => rmSync(directory, { recursive: true }))
const place = (name: string): string => join(directory, name)

/** A transmission of one frame with a second of quiet about it. */
function audioOf(): Float32Array {
  const parsed = parseLine('Q1ABC-7>APZ001:>on the ridge, all well, 12 volts', { strict: false })
  if (!parsed.ok) throw new Error(parsed.reason)
  const frames = [encodeFrame(parsed.frame)]
  const signal = modulateTransmission({
    ...{ frames, preambleMs: 200, tailMs: 30, sampleRateHz, peakLevel: 0.2 },
  })
  const audio = new Float32Array(2 * sampleRateHz + signal.length)
  audio.set(signal, sampleRateHz)
  return audio
}

function wavOf(name: string, audio: Float32Array): string {
  const wav = createWav(place(name), {
    ...{ sampleRateHz, sampleFormat: 's16le', channel: 0, channelCount: 1 },
  })
  wav.write(audio)
  wav.close()
  return place(name)
}

const decode = (...words: string[]) => runCommand(decodeCommand, words)
const noise = (audio: Float32Array) => addNoise(audio, 0.003, seededRandom(2))

describe('decode --explain', () => {
  it('tells silence, hiss and a signal 500 Hz off apart', async () => {
    const about = { sampleRateHz, random: seededRandom(1), signalPower: 0.02 }
    const moved = shift(500)(audioOf(), {
      ...about,
      startSample: 0,
      contentSample: 0,
      endSample: 0,
    })
    const { stdout } = await decode(
      '--explain',
      wavOf('silence.wav', new Float32Array(4 * sampleRateHz)),
      wavOf('hiss.wav', whiteNoise(4 * sampleRateHz, 0.1, seededRandom(3))),
      wavOf('off.wav', noise(moved)),
    )
    const [silence, hiss, off] = stdout.split(/^.*\.wav .*$/m).slice(1)
    expect(silence).toMatch(/^\s+0 read, none lost; silence all the time: nothing came/)
    expect(hiss).toMatch(/^\s+0 read, none lost; hiss at -20 dBFS all the time: an open squelch/)
    expect(off).toMatch(
      /LOST, 0\.\d+ s: both tones (49|50)\d Hz high: a receiver off its frequency/,
    )
    expect(off).toMatch(/0 read, 1 lost: off tune 1; /)
  })

  it('shows time of day, Eb/N0, offset and raw text; JSON and lines have it all, too', async () => {
    const broken = audioOf()
    broken.fill(0, 1.35 * sampleRateHz, 1.36 * sampleRateHz)
    const both = new Float32Array(2 * broken.length)
    both.set(noise(audioOf()))
    both.set(noise(broken), broken.length)
    const file = wavOf('both.wav', both)
    const words = ['--explain', '--utc', '2026-11-29T23:59:58Z']
    const { stdout: human } = await decode(...words, file)
    expect(human).toMatch(/^ +UTC +dBFS +bal dB +Eb\/N0 +offset +from > to via path/m)
    expect(human).toMatch(
      /^23:59:59\.\d\d .* dB +[+-]\d+Hz +Q1ABC-7 > APZ001: .* \| raw: ">on the ridge, all well, 12 volts"$/m,
    )
    expect(human).toMatch(
      /^00:00:01\.\d\d .*LOST, 0\.\d+ s: samples lost 0\.\d+ s after its start: .* \(\d+ flags before it, symbol rate [+-]\d+ ppm\)$/m,
    )
    expect(human).toMatch(/^ +1 read, 1 lost: lost samples 1; /m)

    const { stdout: json } = await decode(...words, '--format', 'json', file)
    const [read, lost, summary] = json
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as Record<string, unknown>)
    expect(read).toMatchObject({ utc: expect.stringMatching(/^2026-11-29T23:59:59\./) as string })
    expect(lost).toMatchObject({
      utc: expect.stringMatching(/^2026-11-30T00:00:01\./) as string,
      lost: expect.stringMatching(/^samples lost/) as string,
      causes: [{ kind: 'slip' }],
      quality: { preambleFlags: expect.any(Number) as number },
    })
    expect(summary).toMatchObject({ readCount: 1, lostCount: 1, causes: { 'lost samples': 1 } })

    const { stdout: lines } = await decode(...words, '--format', 'line', file)
    expect(lines).toMatch(
      /^Q1ABC-7>APZ001:.*\n# 00:00:01\.\d\d LOST, .*\n# .*both\.wav, channel 0: 1 read/,
    )
  })

  it('says nothing of what was lost without being asked', async () => {
    const { stdout } = await decode(place('both.wav'))
    expect(stdout).not.toContain('LOST')
    expect(stdout).not.toContain('raw:')
  })

  it.each(['yesterday', '2026-13-01T00:00', '2026-11-29', '2026-11-29T08:00:00+01:00'])(
    'a start that is no moment in UTC is refused: %s',
    async (start) => {
      const { stderr, exitCode } = await decode('--utc', start, place('both.wav'))
      expect(exitCode).toBe(2)
      expect(stderr).toContain('expected a moment in UTC, such as 2026-11-29T08:00:00Z')
    },
  )
})

describe('recordings other than WAV', () => {
  it('raw PCM is read from a named file with --rate', async () => {
    writeFileSync(place('raw.s16'), encodePcm(noise(audioOf()), 's16le', 0, 1))
    const { stdout } = await decode(
      '--rate',
      String(sampleRateHz),
      '--format',
      'line',
      place('raw.s16'),
    )
    expect(stdout).toMatch(/^Q1ABC-7>APZ001:>on the ridge/)
  })

  it('without a decoder program it is told what to install', async () => {
    writeFileSync(place('day.flac'), Buffer.from('fLaC and so on, long enough'))
    const { stderr, exitCode } = await decode(place('day.flac'))
    expect(exitCode).toBe(1)
    expect(stderr).toMatch(
      /day\.flac: got a FLAC file, .*install ffmpeg \(FLAC, MP3, Ogg, video\) or sox/,
    )
  })

  const encoder = findProgram('sox')
  it.skipIf(encoder === undefined)('FLAC and Ogg come through a decoder program', async () => {
    const wav = wavOf('plain.wav', noise(audioOf()))
    for (const name of ['plain.flac', 'plain.ogg', '-odd name.flac']) {
      execFileSync('sox', [wav, '-r', '24000', place(name)])
      const { stdout } = await runCommand(decodeCommand, ['--format', 'line', place(name)], {
        env: process.env,
      })
      expect(stdout, name).toMatch(/^Q1ABC-7>APZ001:>on the ridge/)
    }
    writeFileSync(place('broken.flac'), Buffer.from('fLaC and then nothing that is FLAC'))
    const { stderr, exitCode } = await runCommand(decodeCommand, [place('broken.flac')], {
      env: process.env,
    })
    expect(exitCode).toBe(1)
    expect(stderr).toMatch(/broken\.flac.*(ffmpeg|sox) cannot decode it: /)
  })
})
