import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import type { ReceivedFrame } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { openReport } from '../../src/cli/decode/report/report.js'
import { seededRandom } from '../../src/runtime/random.js'
import { addNoise } from '../channel/addNoise.js'
import { sourceFiles } from '../tidy/sources.js'
import { runCommand } from './commandBench.js'

const sampleRateHz = 9600
let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-report-'))
})
afterAll(() => rmSync(directory, { recursive: true }))
const place = (name: string): string => join(directory, name)
const textOf = (name: string): string => readFileSync(place(name), 'utf8')

function signalOf(line: string): Float32Array {
  const parsed = parseLine(line, { strict: false })
  if (!parsed.ok) throw new Error(parsed.reason)
  const frames = [encodeFrame(parsed.frame)]
  return modulateTransmission({ frames, preambleMs: 200, tailMs: 30, sampleRateHz, peakLevel: 0.2 })
}

/** Signals with half a second of quiet about each. */
function wavOf(name: string, signals: readonly Float32Array[]): string {
  const wav = createWav(place(name), {
    ...{ sampleRateHz, sampleFormat: 's16le', channel: 0, channelCount: 1 },
  })
  const quiet = new Float32Array(sampleRateHz / 2)
  for (const signal of [quiet, ...signals.flatMap((one) => [one, quiet])]) wav.write(signal)
  wav.close()
  return place(name)
}

const hostile = 'Q1TST>APZ001:><img src=x onerror=alert(1)>"\'&amp;</svg><script>alert(2)</script>'

/** So much noise that a part of the bits is wrong. */
const spoiled = (signal: Float32Array, seed: number): Float32Array =>
  addNoise(signal, 0.2, seededRandom(seed))

const report = (list: readonly string[]) =>
  runCommand(decodeCommand, [...list, '--output', place('frames.txt')])

describe('the report of a recording', () => {
  it('is one file with every frame and what was damaged; what strangers sent stays text', async () => {
    const good = signalOf(hostile)
    const low = signalOf('Q2TST>APZ001:>second').map((sample) => sample / 20)
    const wav = wavOf('<b>one.wav', [
      good,
      low,
      spoiled(signalOf(`Q3TST>APZ001:>${'x'.repeat(90)}`), 3),
    ])
    const run = await report([wav, '--report', place('one.html')])
    expect(run.stderr).toMatch(/^2 frames/)
    const page = textOf('one.html')
    expect(page).toMatch(/<title>2 read, 1 damaged: .*&#60;b&#62;one\.wav<\/title>/)
    expect(page.match(/class="entry read"/g)).toHaveLength(2)
    expect(page.match(/class="entry damaged"/g)).toHaveLength(1)
    expect(page).not.toMatch(/<script|<img src=x|<b>one/)
    expect(page).toContain('&#60;img src=x onerror=alert(1)&#62;')
    // Nothing is loaded and nothing runs.
    expect(page).toContain(`content="default-src 'none'; img-src data:; style-src 'unsafe-inline'"`)
    expect(page).not.toMatch(/(src|href)="(https?:)?\/\//)
    for (const [, id] of page.matchAll(/href="#(\w+)"/g)) expect(page).toContain(`id="${id}"`)
    // A signal far too faint is told so in the words of levels.
    expect(readdirSync(directory).filter((name) => name.includes('pages'))).toEqual([])
    expect(page.length).toBeLessThan(100_000)
  })

  it('a near-miss says what was wrong and what to change, in the words of levels', async () => {
    const faint = spoiled(signalOf(`Q3TST>APZ001:>${'x'.repeat(90)}`), 3).map((one) => one / 50)
    await report([wavOf('faint.wav', [faint]), '--report', place('faint.html')])
    expect(textOf('faint.html')).toMatch(
      /turn the input up by about \d+ dB: packets come at -4\d dBFS/,
    )
    const clipped = spoiled(signalOf(`Q3TST>APZ001:>${'x'.repeat(90)}`), 3).map((one) => 9 * one)
    await report([wavOf('clipped.wav', [clipped]), '--report', place('clipped.html')])
    expect(textOf('clipped.html')).toMatch(
      /<li>\d+\.\d % of samples clipped: turn the input down<\/li>/,
    )
  })

  it('a folder gives an index, with what could not be read; each channel has a report', async () => {
    const folder = place('recordings')
    mkdirSync(folder)
    wavOf('recordings/b.wav', [signalOf('Q1TST>APZ001:>b')])
    writeFileSync(join(folder, 'a.WAV'), 'no audio')
    writeFileSync(join(folder, 'notes.txt'), 'not a recording')
    const stereo = createWav(join(folder, 'c.wav'), {
      ...{ sampleRateHz, sampleFormat: 's16le', channel: 1, channelCount: 2 },
    })
    stereo.write(signalOf('Q1TST>APZ001:>c'))
    stereo.close()
    const run = await report([folder, '--report', place('all.html')])
    expect(run.exitCode).toBe(1)
    const index = textOf('all.html')
    expect(index).toContain('<title>3 recordings: 2 read, 0 damaged</title>')
    expect(index).toMatch(/a\.WAV<\/td><td colspan="6">not read: /)
    const pages = readdirSync(place('all-pages')).sort()
    expect(pages).toEqual(['01-b.html', '02-c.html', '03-c-channel-1.html'])
    for (const name of pages) {
      expect(index).toContain(`href="all-pages/${name}"`)
      expect(textOf(`all-pages/${name}`)).toContain('href="../all.html"')
    }
  })

  it('many recordings leave nothing behind: Node warns of no listeners', async () => {
    const wav = wavOf('again.wav', [])
    const warnings: string[] = []
    const note = ({ message }: Error): void => void warnings.push(message)
    process.on('warning', note)
    try {
      await report(Array.from({ length: 12 }, () => wav))
      // Warnings are told in the next turn.
      await new Promise((resolve) => setImmediate(resolve))
    } finally {
      process.off('warning', note)
    }
    expect(warnings).toEqual([])
  })

  it('a folder that is there gets index.html, and a recording is never overwritten', async () => {
    mkdirSync(place('site'))
    const wav = wavOf('kept.wav', [signalOf('Q1TST>APZ001:>kept')])
    await report([wav, '--report', place('site')])
    expect(textOf('site/index.html')).toContain('1 read, 0 damaged')
    const before = readFileSync(wav)
    expect((await report([wav, '--report', wav])).exitCode).toBe(2)
    expect((await report([wav, '--report', place('frames.txt')])).stderr).toMatch(
      /--report: got .*the same as --output/,
    )
    expect(readFileSync(wav)).toEqual(before)
  })

  it('a place that cannot be written is told before anything is decoded', async () => {
    const wav = wavOf('early.wav', [signalOf('Q1TST>APZ001:>early')])
    const run = await report([wav, '--report', join(wav, 'report.html')])
    expect(run).toMatchObject({ exitCode: 1, stdout: '' })
    expect(run.stderr).toMatch(/report\.html: cannot be written: /)
    expect(run.stderr).not.toContain('frame')
  })

  it('of what lasts longer, pages lie beside it: bounded in time and in frames, each reached from the next', () => {
    const signal = signalOf('Q1TST>APZ001:>again and again')
    const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
    const [frame] = [...receiver.push(signal), ...receiver.finish()] as [ReceivedFrame]
    const written = openReport(place('long.html'))
    const head = { name: 'long.wav', sampleRateHz, channelCount: 1, durationS: undefined }
    const track = written.track(head, 0, true)
    const second = new Float32Array(sampleRateHz)
    const at = (atS: number): ReceivedFrame => ({
      ...frame,
      firstSample: atS * sampleRateHz,
      lastSample: atS * sampleRateHz + 4000,
    })
    // 650 s with 210 frames in the first of them, and one in the last.
    for (let atS = 0; atS < 650; atS++) {
      track.push(second)
      const count = atS === 1 ? 210 : atS === 649 ? 1 : 0
      track.take(
        Array.from({ length: count }, () => at(atS)),
        [],
      )
    }
    track.finish()
    written.end()
    const pages = readdirSync(place('long-pages')).sort()
    expect(pages).toEqual(['01-long-1.html', '01-long-2.html', '01-long-3.html'])
    const texts = pages.map((name) => textOf(`long-pages/${name}`))
    const counts = texts.map((text) => text.match(/class="entry read"/g)?.length ?? 0)
    expect(counts).toEqual([200, 10, 1])
    expect(texts.map((text) => /<h1>long\.wav, ([\d:]+ to [\d:]+):/.exec(text)?.[1])).toEqual([
      '0:00 to 0:02',
      '0:02 to 10:02',
      '10:02 to 10:50',
    ])
    expect(texts[1]).toContain('href="01-long-1.html"')
    expect(texts[1]).toContain('href="01-long-3.html"')
    expect(texts[1]).toContain('href="../long.html"')
    expect(texts[2]).not.toContain('after this')
    const main = textOf('long.html')
    expect(main).toContain('<title>211 read, 0 damaged: long.wav</title>')
    for (const name of pages) expect(main).toContain(`href="long-pages/${name}"`)
    expect(main.length).toBeLessThan(100_000)
  })

  it('what is empty, shorter than a row, or no number at all has a report, too', () => {
    for (const samples of [0, 100, 5000]) {
      const written = openReport(place('short.html'))
      const head = { name: 'short.wav', sampleRateHz, channelCount: 1, durationS: 0 }
      const track = written.track(head, 0, true)
      track.push(new Float32Array(samples).fill(Number.NaN))
      track.take([], [])
      track.finish()
      written.end()
      expect(textOf('short.html')).toContain('No frame, and nothing that looked like one.')
      expect(textOf('short.html')).not.toContain('NaN')
    }
  })

  it('costs nothing where it is not asked for: the command loads it by itself', () => {
    const users = sourceFiles('src').filter(
      ({ path, text }) =>
        !path.startsWith('src/cli/decode/report/') && /decode\/report\/|'\.\/report\//.test(text),
    )
    for (const { path, text } of users)
      expect(text.match(/^import (?!type)[^\n]*\/report\//gm), path).toBeNull()
    expect(users.map(({ path }) => path)).toContain('src/cli/decode/decode.ts')
  })
})
