import { execFileSync, spawn, spawnSync } from 'node:child_process'
import {
  createWriteStream,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { frameFormat } from '../../src/cli/decode/decodeFormat.js'
import type { Edges } from '../../src/devices/edges.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { runCommand } from './commandBench.js'

const recordings = 'samples/recordings'
let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-decode-'))
})
afterAll(() => rmSync(directory, { recursive: true }))
const place = (name: string): string => join(directory, name)

interface Truth {
  readonly frames: readonly {
    readonly channel?: number
    readonly hex: string
    opening_flag_sample: number
  }[]
  readonly sample_rate: number
}
const truthOf = (name: string): Truth =>
  JSON.parse(readFileSync(`${recordings}/${name}.json`, 'utf8')) as Truth

const jsonLines = (text: string): Record<string, unknown>[] =>
  text
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as Record<string, unknown>)

function audioOf(lines: readonly string[], sampleRateHz = 9600): Float32Array {
  const frames = lines.map((line) => {
    const parsed = parseLine(line, { strict: false })
    if (!parsed.ok) throw new Error(parsed.reason)
    return encodeFrame(parsed.frame)
  })
  const signal = modulateTransmission({
    frames,
    preambleMs: 100,
    tailMs: 30,
    sampleRateHz,
    peakLevel: 0.5,
  })
  const quiet = new Float32Array(sampleRateHz / 5)
  const audio = new Float32Array(signal.length + 2 * quiet.length)
  audio.set(signal, quiet.length)
  return audio
}

function recording(name: string, lines: readonly string[], channel = 0, channelCount = 1): string {
  const layout = { sampleRateHz: 9600, sampleFormat: 's16le' as const }
  const wav = createWav(place(name), { ...layout, channel, channelCount })
  wav.write(audioOf(lines))
  wav.close()
  return place(name)
}

const decode = (list: readonly string[], change: Partial<Edges> = {}) =>
  runCommand(decodeCommand, list, change)

describe('decode on recordings of real signals (their truth files beside them name the source)', () => {
  it.each(['swiatowid-ax25', 'swiatowid-ax25_3flags', 'stereo_44k1'])('%s', async (name) => {
    const file = `${recordings}/${name}.wav`
    const run = await decode([file, '--format', 'json', '--channel', '0'])
    const truth = truthOf(name)
    const wanted = truth.frames.filter(({ channel = 0 }) => channel === 0)
    const got = jsonLines(run.stdout)
    expect(got.map(({ octets }) => octets)).toEqual(wanted.map(({ hex }) => hex))
    wanted.forEach((frame, index) => {
      const openingS = frame.opening_flag_sample / truth.sample_rate
      expect(Math.abs((got[index]!.timeS as number) - openingS)).toBeLessThan(0.01)
    })
    expect(run.exitCode).toBe(0)
  })

  it('finds nothing in fr05, which holds no packet', async () => {
    const run = await decode([`${recordings}/fr05.wav`])
    expect(run.stdout).toMatch(/fr05\.wav {2}\(48000 Hz, mono, 0:02\)\n +no frames\n$/)
    expect(run.stderr).toMatch(
      /^0 frames \(0 repaired\); \d+ rejected for FCS; 0:02\.3 of audio in/,
    )
    expect(run.exitCode).toBe(0)
  })
})

describe('decode: output', () => {
  const lines = [
    'N0CALL-7>APZ001,WIDE1-1*,WIDE2-1::N0CALL-1 :repeaters 2{12',
    'N0CALL-1>APZ001:>on the air, 21 °C',
    'N0CALL>TEST{control=3f}:',
  ]

  it('JSON has exactly the keys that other tools rely on', async () => {
    const file = recording('json.wav', lines)
    const run = await decode([file, '--format', 'json'])
    const [first, second, third] = jsonLines(run.stdout)
    expect(Object.keys(first!)).toEqual([
      ...['file', 'channel', 'timeS', 'octets', 'source', 'destination', 'path', 'control'],
      ...[
        'pid',
        'payload',
        'repairedBits',
        'code',
        'correctedOctets',
        'copies',
        'detector',
        'quality',
      ],
    ])
    expect(first).toMatchObject({
      file,
      channel: 0,
      source: 'N0CALL-7',
      destination: 'APZ001',
      path: [
        { call: 'WIDE1-1', repeated: true },
        { call: 'WIDE2-1', repeated: false },
      ],
      control: 3,
      pid: 240,
      payload: ':N0CALL-1 :repeaters 2{12',
      repairedBits: 0,
    })
    expect(Object.keys(first!.quality as object)).toEqual([
      ...['levelDbfs', 'toneBalanceDb', 'toneOffsetHz', 'symbolRateErrorPpm', 'ebN0Db'],
      ...['eyeOpening', 'clippedShare', 'preambleFlags'],
    ])
    expect(second!.payload).toBe('>on the air, 21 °C')
    expect(third).toMatchObject({ control: 0x3f, pid: null, payload: '', path: [] })
  })

  it('a payload that is no UTF-8 is read octet by octet', async () => {
    const run = await decode([recording('latin.wav', ['A>B:>21 %B0C%00%01']), '--format', 'json'])
    expect(jsonLines(run.stdout)[0]!.payload).toBe('>21 °C\x00\x01')
  })

  it('lines come back as they were', async () => {
    const run = await decode([recording('line.wav', lines), '--format', 'line'])
    const escaped = lines.map((line) => line.replace('°', '%C2%B0'))
    expect(run.stdout).toBe(`${escaped.join('\n')}\n`)
  })

  it('the human layout says time, level, balance, repair, way and content', async () => {
    const run = await decode([recording('human.wav', lines)])
    const [title, heads, ...rows] = run.stdout.trimEnd().split('\n')
    expect(title).toMatch(/human\.wav {2}\(9600 Hz, mono, 0:01\)$/)
    expect(heads).toMatch(/^ +time +dBFS +bal dB +from > to via path: what it says$/)
    expect(rows[0]).toMatch(
      /^ +0:00\.3\d +-9\.\d +[-+]0\.\d +N0CALL-7 > APZ001 via WIDE1-1\*, WIDE2-1: message to N0CALL-1, number 12: repeaters 2$/,
    )
    expect(rows[1]).toMatch(/N0CALL-1 > APZ001: status: on the air/)
    expect(rows[2]).toMatch(/N0CALL > TEST: SABM, poll$/)
  })

  it('nothing from the air commands the terminal, and its lines fit a terminal', async () => {
    const file = recording('odd.wav', [
      'A>B:text %1B[2J%07 and so on and so on and so on and so on',
    ])
    const stdout = Object.assign(new PassThrough(), { isTTY: true, columns: 60 })
    const chunks: Buffer[] = []
    stdout.on('data', (chunk: Buffer) => chunks.push(chunk))
    await decode([file], { stdout })
    const text = Buffer.concat(chunks).toString()
    expect(text).not.toMatch(/[\x00-\x09\x0b-\x1f\x7f]/)
    const rows = text.trimEnd().split('\n')
    expect(Math.max(...rows.slice(1).map((row) => row.length))).toBeLessThanOrEqual(60)
    const words = rows.slice(2).map((row) => row.slice(26))
    expect(words.join(' ')).toBe(
      'A > B: text "text %1B[2J%07 and so on and so on and so on and so on"',
    )
    expect(rows.slice(3).every((row) => row.startsWith(' '.repeat(26)))).toBe(true)
  })

  it('says how many bits were repaired', () => {
    const octets = Buffer.from('8440404040406082404040404061 03f0'.replace(' ', ''), 'hex')
    const quality = { levelDbfs: -20, toneBalanceDb: -0.04, toneOffsetHz: 0, symbolRateErrorPpm: 0 }
    const received = {
      octets,
      firstSample: 80_000 * 3661.5,
      lastSample: 0,
      detector: 'any',
      repairedBits: 2,
      quality: { ...quality, ebN0Db: 6, eyeOpening: 0.1, clippedShare: 0, preambleFlags: 1 },
    }
    const text = frameFormat('human', { columns: undefined }).frame({
      file: 'x.wav',
      channel: 0,
      sampleRateHz: 80_000,
      received,
    })
    expect(text.split('\n')[1]).toBe('1:01:01.50  -20.0    +0.0  A > B: nothing [2 bits repaired]')
  })

  it('what is not a frame keeps its octets in every format', () => {
    const quality = { levelDbfs: -20, toneBalanceDb: 0, toneOffsetHz: 0, symbolRateErrorPpm: 0 }
    const found = {
      file: 'x.wav',
      channel: 0,
      sampleRateHz: 8000,
      received: {
        octets: Uint8Array.of(1, 2, 3),
        firstSample: 8000,
        lastSample: 9000,
        detector: 'any',
        repairedBits: 0,
        quality: { ...quality, ebN0Db: Infinity, eyeOpening: 0, clippedShare: 0, preambleFlags: 0 },
      },
    }
    const json = JSON.parse(frameFormat('json', { columns: undefined }).frame(found)) as object
    expect(json).toMatchObject({
      octets: '010203',
      source: null,
      destination: null,
      path: [],
      control: null,
      pid: null,
      payload: '',
    })
    expect(frameFormat('line', { columns: undefined }).frame(found)).toMatch(/^# 010203 \(.*\)\n$/)
    expect(frameFormat('human', { columns: undefined }).frame(found)).toMatch(
      /3 octets that are not a frame.*010203\n$/,
    )
  })

  it('several channels are decoded each on its own, several files in order', async () => {
    const files = [recording('b.wav', ['A>B:two'], 2, 3), recording('a.wav', ['A>B:one'])]
    const run = await decode([...files, '--format', 'json'])
    const found = jsonLines(run.stdout).map(({ file, channel, payload }) => [
      file,
      channel,
      payload,
    ])
    expect(found).toEqual([
      [files[0], 2, 'two'],
      [files[1], 0, 'one'],
    ])
    expect(run.stderr).toMatch(/^2 recordings; 2 frames/)
    const one = await decode([files[0]!, '--channel', '1', '--format', 'json'])
    expect(one).toMatchObject({ stdout: '', exitCode: 0 })
  })

  it('--output takes the frames, --capture writes what a protocol analyser reads', async () => {
    const output = place('frames.txt')
    const capture = place('frames.pcap')
    const file = recording('capture.wav', lines)
    const run = await decode([file, '--format', 'line', '--output', output, '--capture', capture])
    expect(run.stdout).toBe('')
    expect(readFileSync(output, 'utf8').split('\n')).toHaveLength(4)
    const octets = readFileSync(capture)
    expect(octets.readUInt32LE(20)).toBe(202)
    // libpcap's record header of 16 octets and the KISS command octet stand in front of each frame.
    const first = octets.readUInt32LE(24 + 8)
    const frame = octets.subarray(24 + 16 + 1, 24 + 16 + first)
    const json = await decode([file, '--format', 'json'])
    expect(frame.toString('hex')).toBe(jsonLines(json.stdout)[0]!.octets)
  })

  it('a terminal sees a bar for a recording that takes a while, and no rest of it', async () => {
    const stderr = Object.assign(new PassThrough(), { isTTY: true, columns: 100 })
    const chunks: Buffer[] = []
    stderr.on('data', (chunk: Buffer) => chunks.push(chunk))
    // A clock that is half a second further each time it is asked.
    let nowMs = 0
    const clock = { ...systemClock(), monotonicMs: () => (nowMs += 500) }
    await decode([`${recordings}/fr05.wav`], { stderr, clock, env: { TERM: 'xterm' } })
    const text = Buffer.concat(chunks).toString()
    expect(text).toMatch(/\r\x1b\[K\[#+\.+\] +\d+ % +0:0\d of 0:02 +0 frames +\d+ times real time/)
    expect(text).toMatch(/\r\x1b\[K0 frames \(0 repaired\)[^\r]*\n$/)
  })
})

describe('decode: standard input', () => {
  const audio = audioOf(['A>B:piped'])
  const piped = (octets: Uint8Array): PassThrough => {
    const stdin = new PassThrough()
    for (let from = 0; from < octets.length; from += 777)
      stdin.write(octets.slice(from, from + 777))
    stdin.end()
    return stdin
  }

  it.each(['u8', 's16be', 's24le', 'f32le'] as const)(
    'raw PCM, %s, second of two channels',
    async (format) => {
      const stdin = piped(encodePcm(audio, format, 1, 2))
      const list = ['-', '--rate', '9600', '--sample-format', format, '--channels', '2']
      const run = await decode([...list, '--format', 'json'], { stdin })
      expect(jsonLines(run.stdout)).toMatchObject([
        { file: 'standard input', channel: 1, payload: 'piped' },
      ])
    },
  )

  it('a WAV file needs no --rate', async () => {
    const stdin = piped(readFileSync(recording('pipe.wav', ['A>B:piped'])))
    const run = await decode(['-', '--format', 'line'], { stdin })
    expect(run.stdout).toBe('A>B:piped\n')
  })

  it('a named pipe is read like it', async () => {
    const pipe = place('pipe')
    execFileSync('mkfifo', [pipe])
    const whole = readFileSync(recording('pipe.wav', ['A>B:piped']))
    createWriteStream(pipe).end(whole)
    const run = await decode([pipe, '--format', 'json'])
    expect(jsonLines(run.stdout)).toMatchObject([{ file: pipe, payload: 'piped' }])
  })

  it('raw PCM without --rate is wrong usage', async () => {
    const run = await decode(['-'], { stdin: piped(encodePcm(audio, 's16le')) })
    expect(run.exitCode).toBe(2)
    expect(run.stderr).toContain('give --rate')
  })

  it('stops when told, in the middle of a stream that keeps silent', async () => {
    const stdin = new PassThrough()
    let stop = (): void => {}
    const list = ['-', '--rate', '9600', '--format', 'line']
    const onStop = (run: () => void): void => {
      stop = run
    }
    const running = decode(list, { stdin, onStop })
    stdin.write(encodePcm(audio, 's16le'))
    setImmediate(() => setImmediate(() => stop()))
    const run = await running
    expect(run.exitCode).toBe(1)
    expect(run.stdout).toBe('A>B:piped\n')
    expect(run.stderr).toMatch(/^stopped early: 1 frame/)
  })
})

describe('decode: bad input', () => {
  it('names what cannot be read and decodes the rest', async () => {
    writeFileSync(place('text.wav'), 'this is no recording at all')
    writeFileSync(place('empty.wav'), '')
    const good = recording('good.wav', ['A>B:still here'])
    mkdirSync(place('folder'))
    const bad = ['text.wav', 'empty.wav', 'missing.wav', 'folder'].map(place)
    const files = [...bad, good]
    const run = await decode([...files, '--format', 'line'])
    expect(run.exitCode).toBe(1)
    expect(run.stdout).toBe('A>B:still here\n')
    const told = run.stderr.split('\n')
    expect(told[0]).toMatch(/text\.wav: got text \("this is no r"\), expected a WAV file/)
    expect(told[1]).toMatch(/empty\.wav: got an empty file, expected a WAV file/)
    expect(told[2]).toMatch(/missing\.wav: cannot be read: no such file/)
    expect(told[3]).toMatch(/got a directory, expected a WAV file/)
    expect(told[4]).toMatch(/^5 recordings, 4 of them not read; 1 frame /)
  })

  it('a truncated recording is read to its end, with a warning', async () => {
    const whole = readFileSync(recording('whole.wav', ['A>B:before the power failed', 'A>B:lost']))
    writeFileSync(place('cut.wav'), whole.subarray(0, whole.length * 0.75))
    const run = await decode([place('cut.wav'), '--format', 'line'])
    expect(run).toMatchObject({ stdout: 'A>B:before the power failed\n', exitCode: 0 })
    expect(run.stderr).toMatch(/cut\.wav: its header promises \d+ octets of audio, \d+ are there/)
  })

  it('a channel that a file has not is a failure of that file', async () => {
    const run = await decode([recording('mono.wav', ['A>B:x']), '--channel', '1'])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toContain('got channel 1, expected channel 0, the only one')
  })

  it.each([
    [[]],
    [['x.wav', '--channel', 'left']],
    [['x.wav', '--format', 'xml']],
    [['x.wav', '--repair', 'much']],
    [['-', '--rate', '4000']],
    [['x.wav', '--nonsense']],
  ])('%j is wrong usage', async (list) => {
    const run = await decode(list)
    expect(run.exitCode).toBe(2)
    expect(run.stderr).not.toBe('')
  })

  it('never writes over a recording', async () => {
    const file = recording('mine.wav', ['A>B:x'])
    const before = readFileSync(file)
    for (const option of ['--output', '--capture'])
      expect((await decode([file, option, file])).exitCode).toBe(2)
    expect(readFileSync(file)).toEqual(before)
    expect((await decode([file, '--output', 'a', '--capture', 'a'])).exitCode).toBe(2)
  })

  it('a place that cannot be written to is a failure', async () => {
    const file = recording('out.wav', ['A>B:x'])
    for (const option of ['--output', '--capture']) {
      const run = await decode([file, option, place('no/such/place')])
      expect(run.exitCode).toBe(1)
      expect(run.stderr).toMatch(/no\/such\/place: cannot be written: no such file/)
    }
  })
})

describe('decode: as a process', () => {
  const main = ['--import', 'tsx', 'src/cli/main.ts', 'decode']

  it('a reader that leaves is no error', async () => {
    const lines = Array.from({ length: 60 }, (_, index) => `A>B:${index} ${'x'.repeat(100)}`)
    const file = recording('long.wav', lines)
    // Far more output than a pipe holds.
    const files = Array.from({ length: 20 }, () => file)
    const child = spawn(process.execPath, [...main, '--format', 'json', ...files])
    let stderr = ''
    child.stderr.on('data', (part: Buffer) => {
      stderr += part.toString()
    })
    child.stdout.once('data', () => child.stdout.destroy())
    const exitCode = await new Promise((resolve) => child.once('close', resolve))
    expect(exitCode).toBe(0)
    expect(stderr).not.toMatch(/EPIPE|Error|unexpected/)
  })

  it('a full disk is told once', () => {
    const file = recording('full.wav', ['A>B:x'])
    const run = spawnSync('sh', ['-c', `"$0" "$@" > /dev/full`, process.execPath, ...main, file], {
      encoding: 'utf8',
    })
    expect(run.status).toBe(1)
    expect(run.stderr.match(/the disk is full/g)).toHaveLength(1)
  })
})
