import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { openWav } from '../../src/audio/wavReader.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { toneCommand } from '../../src/cli/tone/tone.js'
import type { TransmitOutcome } from '../../src/radio/port.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { RadioPort, ToneRequest } from '../../src/radio/radioPort.js'
import type { openRadio } from '../../src/setup/openRadio.js'
import { runCommand } from './commandBench.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

// Invented: no country's calls begin with Q.
const call = 'QQ1AA-10'
const config = (change: { call?: string; enabled?: boolean; more?: string } = {}): string => {
  const file = join(folder, 'node.toml')
  writeFileSync(
    file,
    `[station]
call = "${change.call ?? call}"
[audio]
input = "wav:in.wav"
output = "wav:out.wav"
[ptt]
kind = "log"
logFile = "key.log"
deadManMs = 200
[transmit]
enabled = ${change.enabled ?? true}
frequencyMHz = 145.01
powerW = 5
${change.more ?? ''}`,
  )
  return file
}

/** A radio that is told everything and does what the test says. */
function fakeRadio(
  outcome: Partial<TransmitOutcome> & { kind: TransmitOutcome['kind'] },
  identifies = true,
) {
  const told: unknown[] = []
  const events: ((event: RadioEvent) => void)[] = []
  let listener: (outcome: TransmitOutcome) => void = () => {}
  const port = {
    onOutcome: (one: typeof listener) => {
      listener = one
    },
    onEvent: (one: (typeof events)[number]) => void events.push(one),
    hold: (...words: unknown[]) => void told.push(['hold', ...words]),
    sendTone: ({ id, tone, durationMs }: ToneRequest) => {
      told.push([tone, durationMs])
      listener({ id, kind: 'held', atMs: 0, reason: 'the channel is busy' })
      listener({ id, atMs: 0, ...outcome } as TransmitOutcome)
    },
    close: async () => {
      told.push('close')
      if (!identifies) return
      for (const tell of events)
        tell({ kind: 'identified', reason: call, radio: 0, atMs: 0, atWallMs: 0 })
    },
  } as unknown as RadioPort
  const open: typeof openRadio = (_, number, __, ___, levels) => {
    told.push(['open', number, levels])
    return { port, start: () => void told.push('start') }
  }
  return { told, open }
}

const sent = () => fakeRadio({ kind: 'sent', airtimeMs: 5000 })
const tone = (radio: ReturnType<typeof fakeRadio>, ...commandArguments: string[]) =>
  runCommand((edges) => toneCommand(edges, radio.open), commandArguments)

describe('ridgepost tone, what stands before keying', () => {
  it.each<[string, Parameters<typeof config>[0], string[], number, RegExp]>([
    ['not enabled', { enabled: false }, [], 1, /transmit\.enabled = false.*--to wav:FILE/],
    ['placeholder call', { call: 'N0CALL-10' }, ['--confirm', 'N0CALL-10'], 1, /placeholder/],
    ['not confirmed', {}, [], 2, /nothing was sent; to send, add --confirm QQ1AA-10/],
    ['another call confirmed', {}, ['--confirm', 'QQ2AA'], 2, /got "QQ2AA"/],
    ['too long', {}, ['--seconds', '7.6', '--confirm', call], 2, /at most 7\.5/],
    ['a longer timer', { more: 'timeOutMs = 9000' }, ['--seconds', '8.6'], 2, /at most 8\.5/],
    ['no such radio', {}, ['--radio', '1', '--confirm', call], 2, /expected 0 to 0/],
    [
      'an external modem',
      { more: '[modem]\nkind = "tcp"\nhost = "modem.example"\nport = 7000' },
      ['--confirm', call],
      1,
      /an external modem/,
    ],
  ])('%s: nothing is opened', async (_, change, flags, exitCode, words) => {
    const radio = sent()
    const run = await tone(radio, 'mark', config(change), ...flags)
    expect(run.stderr).toMatch(words)
    expect(run.exitCode).toBe(exitCode)
    expect(radio.told).toEqual([])
  })

  it('an unknown tone is wrong usage', async () => {
    const run = await tone(sent(), 'whistle', config())
    expect(run.exitCode).toBe(2)
    expect(run.stderr).toMatch(/mark, space, alternating, two-tone/)
  })
})

it('of a radio at 9600 bit/s says which symbols alternate', async () => {
  const at9600 = config({ more: '[signal]\nbitRate = 9600\n' })
  const { open } = fakeRadio({ kind: 'sent' })
  const run = await runCommand((edges) => toneCommand(edges, open), ['alternating', at9600])
  expect(run.stderr.replace(/\s+/g, ' ')).toContain(
    'alternating bits at 9600 bit/s, a steady 4800 Hz',
  )
  expect(run.stderr).toContain('nothing was sent')
})

describe('ridgepost tone, confirmed', () => {
  it('shows the cautions, sends five seconds through the radio, and closes it', async () => {
    const radio = sent()
    const run = await tone(radio, 'two-tone', config(), '--confirm', call, '--level', '-12')
    expect(radio.told).toEqual([
      ['open', 0, { levelDbfs: -12, toneBalanceDb: undefined }],
      'start',
      ['two-tone', 5000],
      'close',
    ])
    expect(run.exitCode).toBe(0)
    for (const words of [
      /keys the transmitter of QQ1AA-10 on 145\.01 MHz at 5 W for 5 s/,
      /listen first/,
      /Local rules come\s+first/,
      /held: the channel is busy/,
      /sent 5 s, identified as QQ1AA-10, unkeyed/,
    ])
      expect(run.stderr).toMatch(words)
  })

  it('says why it was not sent, and exits 1', async () => {
    const radio = fakeRadio({ kind: 'expired', reason: 'the channel was busy' })
    const run = await tone(radio, 'mark', config(), '--confirm', call)
    expect(run.stderr).toMatch(/not sent: the channel was busy/)
    expect(run.exitCode).toBe(1)
    expect(radio.told.at(-1)).toBe('close')
  })

  it('says so when the identification did not go out', async () => {
    const radio = fakeRadio({ kind: 'sent', airtimeMs: 5000 }, false)
    const run = await tone(radio, 'mark', config(), '--confirm', call)
    expect(run.stderr).toMatch(/NOT identified, because the channel stayed busy: identify by voice/)
    expect(run.exitCode).toBe(1)
  })

  it('flags end with a frame of the station, which is its identification', async () => {
    const radio = fakeRadio({ kind: 'sent', airtimeMs: 5000 }, false)
    const run = await tone(radio, 'flags', config(), '--confirm', call)
    expect(run.stderr).toMatch(/sent 5 s, identified as QQ1AA-10, unkeyed/)
    expect(run.exitCode).toBe(0)
  })

  it('an interrupt cuts it at once', async () => {
    const radio = sent()
    let stop: () => void = () => {}
    await runCommand(
      (edges) => toneCommand(edges, radio.open),
      ['mark', config(), '--confirm', call],
      {
        onStop: (run) => {
          stop = run
        },
      },
    )
    stop()
    expect(radio.told.at(-1)).toEqual(['hold', 'operator', 'stopped at the keyboard'])
  })
})

describe('ridgepost tone --to wav:FILE', () => {
  /** Power at one frequency over the power of all, by the definition of the Fourier sum. */
  const shareAt = (samples: Float32Array, hz: number, rateHz: number): number => {
    let [re, im, all] = [0, 0, 0]
    samples.forEach((sample, index) => {
      const phase = (2 * Math.PI * hz * index) / rateHz
      re += sample * Math.cos(phase)
      im += sample * Math.sin(phase)
      all += sample * sample
    })
    return (2 * (re * re + im * im)) / (samples.length * all)
  }

  const written = async (...commandArguments: string[]) => {
    const file = join(folder, 'tone.wav')
    const radio = sent()
    const run = await tone(radio, ...commandArguments, '--to', `wav:${file}`)
    expect(radio.told).toEqual([])
    expect(run.stderr).toMatch(/Nothing was transmitted/)
    const wav = openWav(file)
    const [samples] = wav.read(10_000_000)!
    wav.close()
    return { samples: samples!, rateHz: wav.sampleRateHz }
  }

  it.each([
    ['mark', 1200, 2200],
    ['space', 2200, 1200],
  ])('%s is %i Hz and nothing else', async (name, hz, other) => {
    const { samples, rateHz } = await written(name, '--seconds', '1')
    expect(samples.length).toBe(rateHz)
    expect(shareAt(samples, hz, rateHz)).toBeGreaterThan(0.99)
    expect(shareAt(samples, other, rateHz)).toBeLessThan(0.001)
    // half of full scale is -6.02 dB
    expect(Math.max(...samples)).toBeCloseTo(10 ** (-6 / 20), 2)
  })

  it('two-tone is both, each half, and its peak is the level asked for', async () => {
    const { samples, rateHz } = await written(
      ...['two-tone', '--seconds', '1', '--level', '-12', '--rate', '11025'],
    )
    expect(rateHz).toBe(11_025)
    expect(shareAt(samples, 1200, rateHz)).toBeCloseTo(0.5, 1)
    expect(shareAt(samples, 2200, rateHz)).toBeCloseTo(0.5, 1)
    expect(Math.max(...samples)).toBeGreaterThan(0.9 * 10 ** (-12 / 20))
    expect(Math.max(...samples)).toBeLessThanOrEqual(10 ** (-12 / 20) + 1e-4)
  })

  it('alternating changes the tone with each symbol of 1/1200 s', async () => {
    const { samples, rateHz } = await written('alternating', '--seconds', '1')
    // Two symbols repeat 600 times a second, with 1700 Hz as their mean: lines there and 600 Hz apart.
    const lines = [500, 1100, 1700, 2300, 2900].map((hz) => shareAt(samples, hz, rateHz))
    expect(lines.reduce((sum, share) => sum + share, 0)).toBeGreaterThan(0.8)
    expect(shareAt(samples, 2200, rateHz)).toBeLessThan(0.01)
  })

  it('takes no other kind of place', async () => {
    const run = await tone(sent(), 'mark', '--to', 'tone.mp3')
    expect(run.exitCode).toBe(2)
    expect(run.stderr).toMatch(/got "tone.mp3", expected wav:FILE/)
  })
})

const main = resolve(import.meta.dirname, '../../dist/src/cli/main.js')
describe.skipIf(!existsSync(main))('ridgepost tone for real (needs a build)', () => {
  it('keys, plays, unkeys, identifies: the log and the audio say so', () => {
    // a quiet channel, at a sound card's pace
    const quiet = createWav(join(folder, 'in.wav'), {
      sampleRateHz: 12_000,
      sampleFormat: 's16le',
      channelCount: 1,
    })
    quiet.writeSilence(60 * 12_000)
    quiet.close()
    // On a machine that starves this process the dead-man helper cuts a transmission, as it should: then once more.
    const attempt = () => {
      rmSync(join(folder, 'key.log'), { force: true })
      const flags = [config(), '--seconds', '1', '--confirm', call]
      return spawnSync(process.execPath, [main, 'tone', 'space', ...flags], { encoding: 'utf8' })
    }
    const starved = () => /no sign of life/.test(readFileSync(join(folder, 'key.log'), 'utf8'))
    let run = attempt()
    for (let more = 5; starved() && more > 0; more--) run = attempt()
    expect(run.stderr).toMatch(/sent 1 s, identified as QQ1AA-10, unkeyed/)
    expect(run.status).toBe(0)
    const edges = readFileSync(join(folder, 'key.log'), 'utf8').trim().split('\n')
    expect(edges.map((line) => line.split(' ')[2])).toEqual([
      'unkeyed', // at the start
      'keyed',
      'unkeyed',
      'keyed', // identification
      'unkeyed',
    ])
    const atMs = edges.map((line) => Number(line.split(' ')[1]))
    expect(atMs[2]! - atMs[1]!).toBeGreaterThanOrEqual(1000)
    expect(atMs[2]! - atMs[1]!).toBeLessThan(2000)
    // the next process, the node among them, counts it
    const airtime = readFileSync(join(folder, 'ridgepost.db.airtime-0.json'), 'utf8')
    expect((JSON.parse(airtime) as { spans: unknown[] }).spans.length).toBeGreaterThanOrEqual(2)
    const heard = spawnSync(process.execPath, [
      main,
      'decode',
      join(folder, 'out.wav'),
      ...['--format', 'line'],
    ])
    expect(String(heard.stdout)).toMatch(/QQ1AA-10>ID:QQ1AA-10/)
  })
})
