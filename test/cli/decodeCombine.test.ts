import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { seededRandom } from '../../src/runtime/random.js'
import { testFrame } from '../dsp/modem/receiving.js'
import { runCommand } from './commandBench.js'

let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-combine-'))
})
afterAll(() => rmSync(directory, { recursive: true }))

/** 16 bits at 9600 Hz: the audio on the left, and on the right what becomes of it. */
function stereoWav(audio: Float32Array, right: (sample: number) => number): Buffer {
  const samples = Int16Array.from(
    [...audio].flatMap((sample) => [sample, right(sample)]),
    (sample) => 32_000 * sample,
  )
  const header = Buffer.alloc(44)
  header.write('RIFF', 0)
  header.writeUInt32LE(36 + samples.byteLength, 4)
  header.write('WAVEfmt ', 8)
  header.writeUInt32LE(16, 16)
  header.writeUInt16LE(1, 20)
  header.writeUInt16LE(2, 22)
  header.writeUInt32LE(9600, 24)
  header.writeUInt32LE(4 * 9600, 28)
  header.writeUInt16LE(4, 32)
  header.writeUInt16LE(16, 34)
  header.write('data', 36)
  header.writeUInt32LE(samples.byteLength, 40)
  return Buffer.concat([header, Buffer.from(samples.buffer)])
}

it('channels that are receivers of one transmission give each frame once, and it is said who heard it', async () => {
  const signal = modulateTransmission({
    frames: [testFrame(30, seededRandom(1))],
    ...{ preambleMs: 100, tailMs: 30, sampleRateHz: 9600, peakLevel: 0.3 },
  })
  const audio = new Float32Array(signal.length + 9600)
  audio.set(signal, 4800)
  const file = join(directory, 'combined.wav')
  writeFileSync(
    file,
    stereoWav(audio, (sample) => -sample),
  )
  const run = await runCommand(decodeCommand, [file, '--combine', '--format', 'json'])
  expect(run.stdout.trim().split('\n')).toHaveLength(1)
  expect(run.stderr).toContain('heard 1 by channel 0, 1 by channel 1, 0 only out of several')
  const refused = await runCommand(decodeCommand, [file, '--combine', '--channel', '1'])
  expect(refused.stderr).toContain('--combine: got --channel 1 beside it')
})
