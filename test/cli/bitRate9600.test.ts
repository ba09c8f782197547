// encode and decode at 9600 bit/s, as a user runs them.
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { encodeCommand } from '../../src/cli/encode/encode.js'
import { runCommand } from './commandBench.js'

let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-9600-'))
})
afterAll(() => rmSync(directory, { recursive: true }))

const at9600 = ['--bit-rate', '9600']
const lines = ['N0CALL-1>APZRDG:first', 'N0CALL-2>APZRDG:>after 300 ms of flags']

it('what encode writes, decode reads, at its own bit rate only', async () => {
  const file = join(directory, 'flat.wav')
  const encode = await runCommand(encodeCommand, [
    ...lines,
    ...['--output', file, ...at9600, '--noise', '9', '--level', '-16'],
  ])
  expect(encode.stderr).toMatch(/2 frames, .* of audio in/)
  expect(encode.stderr).not.toContain('clipped')
  const json = await runCommand(decodeCommand, [file, ...at9600, '--format', 'json'])
  const found = json.stdout
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as { payload: string; detector: string; quality: object })
  expect(found.map(({ payload }) => payload)).toEqual(['first', '>after 300 ms of flags'])
  expect(found[0]).toMatchObject({ detector: 'baseband', quality: { toneOffsetHz: null } })
  const { levelDbfs, ebN0Db } = found[0]!.quality as Record<string, number>
  // Its own noise is in the level: at 48 kHz 1 dB more than the bits have.
  expect(Math.abs(levelDbfs! + 16)).toBeLessThan(1.5)
  expect(Math.abs(ebN0Db! - 9)).toBeLessThan(1)
  const human = await runCommand(decodeCommand, [file, ...at9600])
  // Flags of 0.83 ms each, not of 6.7 ms.
  expect(human.stdout).toMatch(/\[(29\d|300) ms of them were heard: keyDelayMs = [67]0 is enough/)
  const other = await runCommand(decodeCommand, [file])
  expect(other.stdout).toContain('no frames')
})

it('a recording that has too few samples for it is refused', async () => {
  const file = join(directory, 'narrow.wav')
  await runCommand(encodeCommand, [...lines, '--output', file, '--rate', '16000'])
  const run = await runCommand(decodeCommand, [file, ...at9600])
  expect(run.stderr).toContain(
    `${file}: got 16000 samples a second, expected 19200 or more; a signal of 9600 bit/s reaches up to 7.5 kHz`,
  )
  const encode = await runCommand(encodeCommand, [
    ...[...lines, '--output', file, ...at9600, '--rate', '16000'],
  ])
  expect(encode.stderr).toContain('--rate: got 16000 samples a second, expected 19200 or more')
})

it.each([
  ['--il2p', [decodeCommand, ['x.wav', '--il2p']] as const],
  ['--combine', [decodeCommand, ['x.wav', '--combine']] as const],
  ['--report', [decodeCommand, ['x.wav', '--report', 'x.html']] as const],
  ['--balance', [encodeCommand, ['--output', 'x.wav', '--balance', '3']] as const],
  ['--offset', [encodeCommand, ['--output', 'x.wav', '--offset', '9']] as const],
  [
    '--error-correction',
    [encodeCommand, ['--output', 'x.wav', '--error-correction', 'il2p']] as const,
  ],
])('%s is for two tones', async (option, [command, list]) => {
  const run = await runCommand(command, [...list, ...at9600])
  expect(run.stderr).toContain(`${option}: got `)
  expect(run.stderr).toContain('two tones of 1200 bit/s')
})

it('no other rate is known', async () => {
  const run = await runCommand(decodeCommand, ['x.wav', '--bit-rate', '2400'])
  expect(run.stderr).toContain('Allowed choices are 1200, 9600.')
})
