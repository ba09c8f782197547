import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { measureSpectrum } from '../../dsp/measure/spectrum.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { exposureCommand } from '../../src/cli/exposure/exposure.js'
import { levelsCommand } from '../../src/cli/levels/levels.js'
import { audioOf, tonesOf } from '../../src/cli/levels/levelsTones.js'
import type { LevelsReading } from '../../src/cli/levels/levelsView.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { runCommand } from './commandBench.js'

let folder: string
let wav: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
  wav = join(folder, 'in.wav')
  const file = createWav(wav, { sampleRateHz: 12_000, sampleFormat: 's16le', channelCount: 1 })
  file.write(Float32Array.from({ length: 24_000 }, (_, index) => 0.2 * Math.sin(index / 3)))
  file.close()
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** A terminal, and all that was written to it. */
function terminal() {
  const stream = Object.assign(new PassThrough(), { isTTY: true, columns: 80 })
  const chunks: Buffer[] = []
  stream.on('data', (chunk: Buffer) => chunks.push(chunk))
  return { stream, text: () => Buffer.concat(chunks).toString() }
}

describe('a terminal without a cursor, or without a wish for drawings', () => {
  it.each<[string, NodeJS.ProcessEnv, string[]]>([
    ['it calls itself dumb', { TERM: 'dumb' }, []],
    ['it does not say what it is', {}, []],
    ['--no-plot', { TERM: 'xterm' }, ['--no-plot']],
  ])('levels, %s: plain lines only', async (_, env, flags) => {
    const { stream, text } = terminal()
    await runCommand(levelsCommand, [wav, ...flags], { stdout: stream, env })
    expect(text()).toMatch(/level -\d+\.\d dBFS/)
    // A minus after two blanks is not said.
    expect(text()).not.toMatch(/ {2}-/)
    expect(text()).not.toMatch(/[\x1b\r█▇]/)
  })

  it('decode tells its progress now and then, a line each', async () => {
    const { stream, text } = terminal()
    let nowMs = 0
    const clock = { ...systemClock(), monotonicMs: () => (nowMs += 4_000) }
    await runCommand(decodeCommand, [wav, '--no-plot'], {
      ...{ stderr: stream, clock, env: { TERM: 'xterm' } },
    })
    expect(text()).toMatch(/^\d+ % {2}0:0\d of 0:02 {2}0 frames/)
    expect(text()).not.toMatch(/[\x1b\r#]/)
  })

  it('exposure leaves its drawing out, and nothing else', async () => {
    const figures = ['--frequency', '145', '--power', '10', '--gain', '2.15', '--height', '9']
    const drawn = (await runCommand(exposureCommand, figures)).stdout.split('\n')
    const plain = (await runCommand(exposureCommand, [...figures, '--no-plot'])).stdout.split('\n')
    expect(drawn.join('\n')).toMatch(/\+-{20,}/)
    expect(plain.join('\n')).not.toMatch(/\+-{20,}/)
    expect(plain.filter((line) => !drawn.includes(line))).toEqual([])
  })
})

describe('levels --audible', () => {
  const reading = (rmsDbfs: number, clippedShare = 0, balanceDb = 0) =>
    ({
      levels: { rmsDbfs, clippedShare },
      lastFrame: { frame: { quality: { levelDbfs: -15, toneBalanceDb: balanceDb, clippedShare } } },
    }) as unknown as LevelsReading
  const pitches = (tones: ReturnType<typeof tonesOf>): number[] =>
    tones.map(({ hz }) => Math.round(hz))

  it('an octave is 12 dB of level, 6 dB of balance; within what is heard', () => {
    expect(pitches(tonesOf(reading(-15), false))).toEqual([600, 600])
    expect(pitches(tonesOf(reading(-3), false))).toEqual([600, 1200])
    expect(pitches(tonesOf(reading(-27), false))).toEqual([600, 300])
    expect(pitches(tonesOf(reading(-150), false))).toEqual([600, 100])
    expect(pitches(tonesOf(reading(-3, 0, 6), true))).toEqual([600, 600, 900, 1800])
    expect(pitches(tonesOf(reading(-3, 0, -6), true))).toEqual([600, 600, 900, 450])
    expect(tonesOf(reading(-3, 0.01), false)).toHaveLength(5)
  })

  it('what is played has that pitch, is quiet, and begins without a click', () => {
    const sampleRateHz = 48_000
    const samples = audioOf([{ hz: 600, durationMs: 400 }], sampleRateHz)
    const { binHz, levelsDbfs } = measureSpectrum(samples.subarray(2_000, 2_000 + 8_192), {
      ...{ sampleRateHz, size: 8192 },
    })
    const strongest = levelsDbfs.indexOf(Math.max(...levelsDbfs))
    expect(Math.abs(strongest * binHz - 600)).toBeLessThan(2 * binHz)
    expect(Math.max(...samples.map(Math.abs))).toBeLessThan(0.2001)
    expect(Math.abs(samples[1]!)).toBeLessThan(0.01)
  })

  it("refuses the transmitter's output, and a recording", async () => {
    const file = join(folder, 'node.toml')
    writeFileSync(file, '[audio]\ninput = "fifo:in"\noutput = "alsa:radio"\n')
    const refused = await runCommand(levelsCommand, ['--config', file, '--audible', 'alsa:radio'])
    expect(refused).toMatchObject({ exitCode: 2 })
    expect(refused.stderr).toMatch(/transmitter's audio output/)
    expect((await runCommand(levelsCommand, [wav, '--audible'])).exitCode).toBe(2)
  })

  it('plays what a live input has', async () => {
    const { stdin, playedFile } = { stdin: new PassThrough(), playedFile: join(folder, 'out.wav') }
    const octets = Buffer.alloc(2 * 48_000 * 2)
    for (let index = 0; index < octets.length / 2; index++)
      octets.writeInt16LE(Math.round(8000 * Math.sin(index / 10)), index * 2)
    stdin.write(octets)
    const run = await runCommand(
      levelsCommand,
      ['pcm:-', '--audible', `wav:${playedFile}`, '--seconds', '3'],
      { stdin, clock: systemClock(), env: process.env },
    )
    expect(run.stdout).toMatch(/same pitch is the right level/)
    expect(readFileSync(playedFile).length).toBeGreaterThan(10_000)
  })
})
