import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openWav } from '../../src/audio/wavReader.js'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { encodeCommand } from '../../src/cli/encode/encode.js'
import { runCommand } from './commandBench.js'

let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-encode-'))
})
afterAll(() => rmSync(directory, { recursive: true }))
const place = (name: string): string => join(directory, name)

const encode = (list: readonly string[], stdin = new PassThrough()) =>
  runCommand(encodeCommand, list, { stdin })

interface Found {
  readonly octets: string
  readonly payload: string
  readonly timeS: number
  readonly quality: Readonly<Record<string, number>>
}

async function decoded(file: string): Promise<Found[]> {
  const run = await runCommand(decodeCommand, [file, '--format', 'json'])
  return run.stdout
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as Found)
}

it('FX.25 goes into the file and comes out of it, at an Eb/N0 where plain frames are lost', async () => {
  const lines = ['N0CALL-1>APZRDG:first', 'N0CALL-2>APZRDG:and the second']
  const file = place('fx25.wav')
  await encode([
    ...lines,
    '--output',
    file,
    '--error-correction',
    'fx25-32',
    '--noise',
    '4.5',
    '--rate',
    '12000',
  ])
  const found = (await decoded(file)) as (Found & { code: string; correctedOctets: number })[]
  expect(found.map(({ payload }) => payload)).toEqual(['first', 'and the second'])
  expect(found.some(({ code, correctedOctets }) => code === 'FX.25' && correctedOctets > 0)).toBe(
    true,
  )
  const run = await runCommand(decodeCommand, [file])
  expect(run.stdout).toMatch(/\[FX\.25, \d+ octets? corrected\]/)
})

const call = fc
  .tuple(fc.stringMatching(/^[A-Z0-9]{1,6}$/), fc.nat({ max: 15 }))
  .map(([name, ssid]) => ({ call: name, ssid }))
const frame = fc
  .record({
    source: call,
    destination: call,
    digipeaters: fc.array(call, { maxLength: 8 }),
    repeated: fc.nat({ max: 8 }),
    payload: fc.uint8Array({ minLength: 0, maxLength: 80 }),
  })
  .map(({ source, destination, digipeaters, repeated, payload }) => {
    const path = digipeaters.map((address, index) => ({ address, repeated: index < repeated }))
    return uiFrame({ source, destination, path, payload })
  })

describe('encode, and decode again', () => {
  it('any frames come back, octet for octet, at any rate and format', async () => {
    const rates = ['8000', '9600', '11025', '16000', '22050', '44100', '48000', '96000']
    await fc.assert(
      fc.asyncProperty(
        fc.array(frame, { minLength: 1, maxLength: 4 }),
        fc.constantFrom(...rates),
        fc.constantFrom('u8', 's16le', 's24le', 'f32le'),
        fc.boolean(),
        async (frames, rate, format, together) => {
          const output = place('round.wav')
          const options = ['--output', output, '--rate', rate, '--sample-format', format]
          const more = together ? ['--together'] : []
          const stdin = new PassThrough()
          stdin.end(`# ${frames.length} frames\n\n${frames.map(formatLine).join('\r\n')}\n`)
          const run = await encode([...options, ...more, '--gap', '100'], stdin)
          expect(run).toMatchObject({ exitCode: 0, stdout: '' })
          const wanted = frames.map((each) => Buffer.from(encodeFrame(each)).toString('hex'))
          expect((await decoded(output)).map(({ octets }) => octets)).toEqual(wanted)
        },
      ),
      { seed: 3, numRuns: 16 },
    )
  })

  it('a message from, to and text', async () => {
    const parts = ['--from', 'n0call-7', '--to', 'N0CALL-1', '--message', 'repeaters 2']
    const output = place('message.wav')
    await encode([...parts, '--number', '12', '--path', 'WIDE1-1, WIDE2-1', '--output', output])
    expect(await decoded(output)).toMatchObject([
      {
        source: 'N0CALL-7',
        destination: 'APZRPP',
        path: [
          { call: 'WIDE1-1', repeated: false },
          { call: 'WIDE2-1', repeated: false },
        ],
        payload: ':N0CALL-1 :repeaters 2{12',
      },
    ])
  })

  it.each([
    ['--level', '-20', 'levelDbfs', -20, 0.5],
    ['--level', '-3', 'levelDbfs', -3, 0.5],
    ['--balance', '6', 'toneBalanceDb', 6, 0.3],
    ['--balance', '-6', 'toneBalanceDb', -6, 0.3],
    ['--offset', '30', 'toneOffsetHz', 30, 3],
    ['--rate-error', '500', 'symbolRateErrorPpm', 500, 150],
    ['--preamble', '400', 'preambleFlags', 60, 2],
    ['--noise', '20', 'ebN0Db', 20, 1.5],
  ])('%s %s is what decode measures', async (option, value, figure, wanted, tolerance) => {
    const output = place('figure.wav')
    await encode([
      'N0CALL>TEST:a text of some length, as they go',
      option,
      value,
      '--output',
      output,
    ])
    const [found] = await decoded(output)
    expect(Math.abs(found!.quality[figure]! - wanted)).toBeLessThanOrEqual(tolerance)
  })

  it('silence stands before, between and after transmissions', async () => {
    const output = place('gaps.wav')
    const options = ['--gap', '250', '--preamble', '100', '--tail', '0', '--rate', '8000']
    await encode(['A>B:one', 'A>B:two', ...options, '--output', output])
    const reader = openWav(output)
    const samples = reader.read(100_000)![0]!
    reader.close()
    const isQuiet = (fromS: number, toS: number): boolean =>
      samples.subarray(fromS * 8000, toS * 8000).every((sample) => sample === 0)
    const endS = samples.length / 8000
    expect(isQuiet(0, 0.25)).toBe(true)
    expect(isQuiet(endS - 0.25, endS)).toBe(true)
    const [one, two] = await decoded(output)
    // 100 ms are 15 flags, and the opening flag stands behind them
    expect(one!.timeS).toBeCloseTo(0.35, 2)
    expect(two!.timeS - one!.timeS).toBeGreaterThan(0.35)
  })

  it('the same seed makes the same file, another one another', async () => {
    const make = async (seed: string): Promise<Buffer> => {
      await encode(['A>B:x', '--noise', '10', '--seed', seed, '--output', place('seed.wav')])
      return readFileSync(place('seed.wav'))
    }
    const first = await make('1')
    expect((await make('1')).equals(first)).toBe(true)
    expect((await make('2')).equals(first)).toBe(false)
  })

  it('noise that does not fit is told', async () => {
    const options = ['--level', '-6', '--noise', '0', '--output', place('hot.wav')]
    expect((await encode(['A>B:x', ...options])).stderr).toMatch(/of the samples are clipped/)
  })
})

describe('encode: bad input', () => {
  it('names every wrong line of an input and writes nothing', async () => {
    writeFileSync(place('lines.txt'), 'A>B:good\nno colon\n\nTOOLONGCALL>B:x\n')
    const run = await encode(['--input', place('lines.txt'), '--output', place('never.wav')])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toMatch(/lines\.txt 2: no ':'/)
    expect(run.stderr).toMatch(/lines\.txt 4: 'TOOLONGCALL' is not an address/)
    expect(() => readFileSync(place('never.wav'))).toThrow()
  })

  it.each([
    [['nonsense']],
    [['A>B:x', '--from', 'N0CALL']],
    [['--from', 'N0CALL', '--to', 'N0CALL-1']],
    [['--from', 'N0-CALL', '--to', 'N0CALL-1', '--message', 'x']],
    [['--from', 'N0CALL', '--to', 'N0CALL-1', '--message', 'x'.repeat(68)]],
    [['--from', 'N0CALL', '--to', 'N0CALL-1', '--message', 'x', '--number', '123456']],
    [['A>B:x', '--rate', '7999']],
    [['A>B:x', '--level', '-3', '--balance', '3']],
    [['A>B:x', '--level', 'loud']],
  ])('%j is wrong usage', async (list) => {
    const run = await encode([...list, '--output', place('never.wav')])
    expect(run.exitCode).toBe(2)
    expect(run.stderr).not.toBe('')
    expect(() => readFileSync(place('never.wav'))).toThrow()
  })

  it('an input without frames, or that cannot be read, is a failure', async () => {
    writeFileSync(place('none.txt'), '# nothing\n')
    const none = await encode(['--input', place('none.txt'), '--output', place('never.wav')])
    expect(none).toMatchObject({ exitCode: 1 })
    expect(none.stderr).toContain('none.txt: got no frame')
    const missing = await encode(['--input', place('missing.txt'), '--output', place('never.wav')])
    expect(missing.stderr).toContain('missing.txt: cannot be read: no such file')
    const unwritable = await encode(['A>B:x', '--output', place('no/such/place.wav')])
    expect(unwritable).toMatchObject({ exitCode: 1 })
  })
})
