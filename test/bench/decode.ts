// `decode` as a process, on recordings of hours: how fast it is, and how much memory it takes. Memory must not grow with
// the recording: an hour at 48 kHz stays below 200 MB.
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import type { SampleFormat } from '../../src/audio/audioDevice.js'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { renderAudio } from '../../src/cli/encode/encodeAudio.js'
import type { Bench } from './bench.js'
import { table } from './receiveFile.js'

interface Subject {
  readonly name: string
  readonly minutes: number
  readonly sampleRateHz: number
  readonly sampleFormat: SampleFormat
  readonly channelCount: number
  readonly withReport?: boolean
}

/** An hour of one channel. */
export const mono: Subject = {
  name: 'mono',
  minutes: 60,
  sampleRateHz: 48_000,
  sampleFormat: 's16le',
  channelCount: 1,
}
const eight: Subject = {
  name: 'eight channels',
  minutes: 180,
  sampleRateHz: 8000,
  sampleFormat: 'u8',
  channelCount: 8,
}

export const bench: Bench = {
  name: 'decode',
  about: 'speed and memory of the decode command on recordings of hours',
  async run({ quick, seed }) {
    const subjects = quick
      ? [
          { ...mono, minutes: 3 },
          { ...mono, minutes: 12 },
          { ...mono, minutes: 12, withReport: true },
          { ...eight, minutes: 3 },
        ]
      : [
          { ...mono, minutes: 6 },
          mono,
          { ...mono, withReport: true },
          { ...eight, minutes: 6 },
          eight,
        ]
    const rows: (string | number)[][] = [
      ['recording', 'minutes', 'Hz', 'frames', 'channel seconds per CPU second', 'memory, MB'],
    ]
    for (const subject of subjects) rows.push(await measure(subject, seed))
    console.log(table(rows))
  },
}

async function measure(subject: Subject, seed: number): Promise<(string | number)[]> {
  const run = await costOfDecoding(subject, seed)
  return [
    subject.name + (subject.withReport ? ', with its report' : ''),
    subject.minutes,
    subject.sampleRateHz,
    run.frames,
    Math.round((subject.minutes * 60 * subject.channelCount) / run.cpuS),
    Math.round(run.maxRssKb / 1024),
  ]
}

/** What `decode` finds in such a recording, and takes for it. */
export async function costOfDecoding(
  subject: Subject,
  seed: number,
): Promise<{ frames: number; cpuS: number; tookS: number; maxRssKb: number }> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-bench-'))
  try {
    const file = join(folder, 'long.wav')
    writeRecording(file, subject, seed)
    return await decode(file, subject.withReport ? ['--report', join(folder, 'report.html')] : [])
  } finally {
    rmSync(folder, { recursive: true })
  }
}

/** A minute with ten packets in noise, over and over, on every channel. */
function writeRecording(file: string, subject: Subject, seed: number): void {
  const { sampleRateHz, channelCount, sampleFormat, minutes } = subject
  const frames = Array.from({ length: 10 }, (_, index) => {
    const line = parseLine(`N0CALL-${index}>APZ001,WIDE1-1:>packet ${index} of a busy minute`)
    if (!line.ok) throw new Error(line.reason)
    return [encodeFrame(line.frame)]
  })
  const minute = new Float32Array(60 * sampleRateHz)
  let at = 0
  for (const block of renderAudio({
    frames,
    sampleRateHz,
    peakLevel: 0.3,
    modulate: modulateTransmission,
    preambleMs: 300,
    tailMs: 50,
    gapMs: 4900,
    noise: { ebN0Db: 15, seed },
  })) {
    minute.set(block.subarray(0, minute.length - at), at)
    at = Math.min(minute.length, at + block.length)
  }
  const interleaved = new Float32Array(minute.length * channelCount)
  for (let index = 0; index < interleaved.length; index++)
    interleaved[index] = minute[Math.floor(index / channelCount)]!
  const wav = createWav(file, { sampleRateHz, sampleFormat, channelCount })
  const octets = encodePcm(interleaved, sampleFormat)
  for (let count = 0; count < minutes; count++) wav.writeOctets(octets)
  wav.close()
}

/** Runs the bundle's `decode`. */
export function decode(
  file: string,
  more: readonly string[],
): Promise<{ frames: number; cpuS: number; tookS: number; maxRssKb: number }> {
  const startedMs = performance.now()
  const main = pathToFileURL(resolve('dist/bundle/ridgepost.js')).href
  const script = `process.argv.splice(1, 0, 'decode');
    process.on('exit', () => {
      const { maxRSS, userCPUTime, systemCPUTime } = process.resourceUsage()
      process.stderr.write('maxRss ' + maxRSS + ' cpu ' + (userCPUTime + systemCPUTime) / 1e6)
    });
    await import(${JSON.stringify(main)})`
  const child = spawn(process.execPath, [
    ...['--input-type=module', '-e', script, '--'],
    ...['decode', '--format', 'line', file, ...more],
  ])
  let lines = 0
  let said = ''
  child.stdout.on('data', (part: Buffer) => {
    lines += part.filter((octet) => octet === 0x0a).length
  })
  child.stderr.on('data', (part: Buffer) => {
    said += part.toString()
  })
  return new Promise((resolve, reject) => {
    child.once('close', () => {
      const cpuS = / cpu ([\d.]+)/.exec(said)?.[1]
      const maxRssKb = /maxRss (\d+)/.exec(said)?.[1]
      if (cpuS === undefined || maxRssKb === undefined) return reject(new Error(said))
      const tookS = (performance.now() - startedMs) / 1000
      resolve({ frames: lines, cpuS: Number(cpuS), tookS, maxRssKb: Number(maxRssKb) })
    })
  })
}
