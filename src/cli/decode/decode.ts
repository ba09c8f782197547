import { createReadStream, readdirSync, realpathSync, statSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { Command, InvalidArgumentError, Option } from 'commander'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'
import type { RepairLevel } from '../../../dsp/modem/receivedFrame.js'
import { type SampleFormat, sampleFormats } from '../../audio/audioDevice.js'
import type { Edges } from '../../devices/edges.js'
import { Failure } from '../../runtime/failure.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { openCapture } from '../run/captureFile.js'
import { bitRateOption } from '../shared/bitRate.js'
import { isDrawable } from '../shared/drawable.js'
import { wholeNumber } from '../shared/optionValues.js'
import { openTextFile, textOutput } from '../shared/textOutput.js'
import { UsageError } from '../shared/usageError.js'
import { type FormatName, formatNames, frameFormat } from './decodeFormat.js'
import { createProgress, summaryText } from './decodeProgress.js'
import { decodeRecording } from './decodeRecording.js'
import { type Tally, tally } from './decodeTally.js'
import { kindOf, openStreamRecording, openWavRecording, type Recording } from './recording.js'

interface DecodeOptions {
  readonly format: FormatName
  readonly channel: number | 'all'
  readonly repair: RepairLevel
  readonly il2p: boolean
  readonly combine: boolean
  readonly bitRate: BitRate
  readonly output?: string
  readonly capture?: string
  readonly report?: string
  readonly rate?: number
  readonly sampleFormat: SampleFormat
  readonly channels: number
  readonly plot: boolean
  readonly explain: boolean
  readonly utc?: number
}

export function decodeCommand(edges: Edges): Command {
  return new Command('decode')
    .description(
      'Finds the packet-radio frames in recordings. Reads WAV files, other audio and video through a decoder program, and standard input as "-".',
    )
    .argument(
      '<file...>',
      'WAV files, or folders of them; "-" (or a pipe) is a WAV stream, or raw PCM with --rate',
    )
    .addOption(
      new Option(
        '--format <name>',
        'human, json (an object a line) or line (FROM>TO,PATH*:payload)',
      )
        .choices(formatNames)
        .default('human'),
    )
    .addOption(
      new Option('--channel <number>', 'the channel to decode, 0 the left one; each on its own')
        .default('all')
        .argParser(channelOf),
    )
    .addOption(
      new Option('--repair <level>', 'how far frames with a wrong check sequence are repaired')
        .choices(['none', 'careful', 'eager'])
        .default('careful'),
    )
    .addOption(bitRateOption('bits a second on the air: 1200 as two tones, 9600 in flat audio'))
    .option('--il2p', 'also read IL2P; FX.25 is always read', false)
    .option(
      '--explain',
      'also tell what was lost and why, and what each recording sounded like; takes several times as long',
      false,
    )
    .option(
      '--utc <start>',
      'when the recording began: 2026-11-29T08:00:00Z; times are real ones then',
      utcOf,
    )
    .option('--no-plot', 'progress as plain lines, without a bar')
    .option(
      '--combine',
      'the channels are receivers of one transmission: each frame once, also out of what they heard together',
      false,
    )
    .option('--output <file>', 'write the frames there instead of to standard output')
    .option('--capture <file.pcap>', 'also write a capture for protocol analysers (link type 202)')
    .option(
      '--report <file.html>',
      'also write pages with pictures: spectrum and levels over time, each frame, what was damaged and why',
    )
    .option(
      '--rate <hertz>',
      'raw PCM, in a file or on standard input: samples a second',
      wholeNumber(8000, 192_000),
    )
    .addOption(
      new Option('--sample-format <name>', 'raw PCM: how samples lie')
        .choices(sampleFormats)
        .default('s16le'),
    )
    .option('--channels <count>', 'raw PCM: interleaved channels', wholeNumber(1, 256), 1)
    .action((files: string[], options: DecodeOptions) => decode(edges, files, options))
}

async function decode(
  edges: Edges,
  places: readonly string[],
  options: DecodeOptions,
): Promise<void> {
  refuseOneChannel(options)
  refuseAt9600(options)
  const files = places.flatMap(recordingsAt)
  refuseOverwriting(files, options)
  const isOnly = files.length === 1
  const columns = edges.stdout.isTTY === true ? edges.stdout.columns : undefined
  const format = frameFormat(options.format, {
    columns: options.output === undefined ? columns : undefined,
    explains: options.explain,
    startWallMs: options.utc,
  })
  const output =
    options.output === undefined
      ? textOutput(edges.stdout, 'standard output')
      : await openTextFile(options.output)
  const capture = options.capture === undefined ? undefined : openCapture(options.capture)
  const report =
    options.report === undefined
      ? undefined
      : (await import('./report/report.js')).openReport(options.report)
  const progress = createProgress(
    edges.stderr,
    edges.clock,
    isDrawable(edges.stderr, edges.env, options.plot),
  )
  const stop = new AbortController()
  edges.onStop(() => stop.abort())
  const startedMs = edges.clock.monotonicMs()
  const total: Tally = tally()
  let isUnwritable = false
  const say = (text: string): void => {
    progress.hide()
    edges.stderr.write(`ridgepost: ${harmlessText(text)}\n`)
  }

  for (const file of files) {
    if (stop.signal.aborted || output.isGone) break
    try {
      const recording = await open(edges, file, options)
      for (const warning of recording.warnings) say(`${recording.name}: ${warning}`)
      const sinks = { format, output, capture, progress, report, stop: stop.signal }
      // A stream may keep silent for ever; a recording that is closed ends.
      const close = (): void => recording.close()
      stop.signal.addEventListener('abort', close)
      try {
        const remark = await decodeRecording(recording, { ...options, isOnly }, sinks, total)
        if (remark !== undefined) say(`${recording.name}: ${remark}`)
      } finally {
        stop.signal.removeEventListener('abort', close)
        recording.close()
      }
    } catch (error) {
      if (!(error instanceof Failure) || error instanceof UsageError) throw error
      say(error.message)
      edges.setExitCode(1)
      report?.unread(file, error.message)
      total.unreadFiles++
      // A full disk stays full: the files after this one would only be lost too.
      if (error.code.endsWith('-unwritable')) {
        isUnwritable = true
        break
      }
    }
  }
  progress.hide()
  capture?.close()
  if (stop.signal.aborted) edges.setExitCode(1)
  // What was wrong with it has been said.
  if (!isUnwritable) {
    await output.end()
    report?.end()
  }
  const tookS = (edges.clock.monotonicMs() - startedMs) / 1000
  edges.stderr.write(`${summaryText(total, tookS, stop.signal.aborted)}\n`)
}

async function open(edges: Edges, file: string, options: DecodeOptions): Promise<Recording> {
  const isFile = file !== '-' && !isPipe(file)
  const kind = isFile ? kindOf(file) : undefined
  if (kind?.isWav === true) return openWavRecording(file)
  if (kind !== undefined && options.rate === undefined)
    return (await import('./decoderProgram.js')).openDecoded(file, kind.looksLike, edges.env)
  const stream = file === '-' ? edges.stdin : createReadStream(file)
  const name = file === '-' ? 'standard input' : file
  const { rate, sampleFormat, channels } = options
  const layout =
    rate === undefined ? undefined : { sampleRateHz: rate, sampleFormat, channelCount: channels }
  try {
    return await openStreamRecording(stream, name, layout)
  } catch (error) {
    if (error instanceof Failure && error.code === 'pcm-layout') throw new UsageError(error.detail)
    throw error
  }
}

/** Of a folder its WAV files, by name; anything else is one itself, and so is a folder that has none or shows none. */
function recordingsAt(place: string): string[] {
  const names = place === '-' ? [] : namesIn(place).filter((name) => /\.wav$/i.test(name))
  return names.length === 0 ? [place] : names.sort().map((name) => join(place, name))
}

function namesIn(place: string): string[] {
  try {
    return statSync(place).isDirectory() ? readdirSync(place) : []
  } catch {
    // Whatever is wrong with it is told when it is opened.
    return []
  }
}

/** A named pipe, or what a shell makes of `<(program)`. */
function isPipe(file: string): boolean {
  try {
    return statSync(file).isFIFO()
  } catch {
    // Whatever is wrong with it is told when it is opened.
    return false
  }
}

function refuseOneChannel({ combine, channel }: DecodeOptions): void {
  if (combine && channel !== 'all')
    throw new UsageError({
      ...{ code: 'combine-one-channel', subject: '--combine' },
      ...{ got: `--channel ${channel} beside it`, expected: 'all channels: leave out --channel' },
    })
}

/** What is made of two tones. */
function refuseAt9600({ bitRate, il2p, combine, report, explain }: DecodeOptions): void {
  if (bitRate !== 9600) return
  const pages = { '--report': report !== undefined, '--explain': explain }
  const beside = { '--il2p': il2p, '--combine': combine, ...pages }
  for (const [option, isGiven] of Object.entries(beside))
    if (isGiven)
      throw new UsageError({
        ...{ code: 'tones-only', subject: option, got: 'it beside --bit-rate 9600' },
        expected: 'no such option: it is for the two tones of 1200 bit/s',
      })
}

/** A slip of the hand must not cost a recording. */
function refuseOverwriting(files: readonly string[], options: DecodeOptions): void {
  const targets = {
    ...{ '--output': options.output, '--capture': options.capture },
    '--report': options.report,
  }
  for (const [option, target] of Object.entries(targets)) {
    if (target === undefined) continue
    if (files.some((file) => file !== '-' && isSamePlace(file, target)))
      throw new UsageError({
        code: 'output-is-input',
        subject: option,
        got: `${target}, which is to be read`,
        expected: 'another file',
      })
  }
  const taken = new Map<string, string>()
  for (const [option, target] of Object.entries(targets)) {
    if (target === undefined) continue
    const other = taken.get(resolve(target))
    if (other !== undefined)
      throw new UsageError({
        code: 'output-twice',
        subject: option,
        got: `${target}, the same as ${other}`,
        expected: 'another file',
      })
    taken.set(resolve(target), option)
  }
}

/** @throws UsageError for what is no moment in UTC */
function utcOf(text: string): number {
  const parsed = /^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?Z?$/.test(text)
    ? Date.parse(`${text.replace(' ', 'T').replace(/Z$/, '')}Z`)
    : Number.NaN
  if (Number.isNaN(parsed))
    throw new InvalidArgumentError(
      `got ${text}, expected a moment in UTC, such as 2026-11-29T08:00:00Z`,
    )
  return parsed
}

function isSamePlace(one: string, other: string): boolean {
  try {
    return realpathSync(one) === realpathSync(other)
  } catch {
    return false
  }
}

function channelOf(text: string): number | 'all' {
  if (text === 'all') return text
  return wholeNumber(0, 255, ', or "all"')(text)
}
