import { dirname, resolve } from 'node:path'
import { Command, Option } from 'commander'
import { loadModem } from '../../../dsp/modem/modems.js'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'
import { listAlsaDevices } from '../../audio/alsaDevices.js'
import { spawnTied } from '../../audio/audioChild.js'
import { type SampleFormat, sampleFormats } from '../../audio/audioDevice.js'
import { audioSpecForms, parseAudioSpec } from '../../audio/audioSpec.js'
import { mixerArguments, readInputControls } from '../../audio/mixerControls.js'
import { type AudioOptions, openAudioSource } from '../../audio/openAudio.js'
import { channelFailure } from '../../audio/wavDevices.js'
import { loadConfig } from '../../config/load.js'
import type { Edges } from '../../devices/edges.js'
import { checkBitRate } from '../../radio/bitRate.js'
import { type Cancel, every } from '../../runtime/clock.js'
import type { Failure } from '../../runtime/failure.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { audioSpecAt } from '../../setup/openRadio.js'
import { openWavRecording } from '../decode/recording.js'
import { bitRateOption } from '../shared/bitRate.js'
import { isDrawable } from '../shared/drawable.js'
import { number, wholeNumber } from '../shared/optionValues.js'
import { UsageError } from '../shared/usageError.js'
import { adviseOnControls } from './levelsAdvice.js'
import { audibleWords, playLevels, refuseRadioOutput } from './levelsAudible.js'
import { createLevelsScreen } from './levelsScreen.js'
import { createLevelsWatch, type LevelsWatch } from './levelsWatch.js'

interface LevelsOptions {
  readonly bitRate: BitRate
  readonly list: boolean
  readonly config?: string
  readonly radio: number
  readonly rate: number
  readonly sampleFormat: SampleFormat
  readonly channels: number
  readonly channel: number
  readonly seconds?: number
  readonly plot: boolean
  readonly audible?: string | true
}

/** What is listened to, from the command line or the configuration. */
interface Input {
  readonly spec: string
  readonly layout: Pick<AudioOptions, 'sampleRateHz' | 'sampleFormat' | 'channelCount' | 'channel'>
  readonly bitRate: BitRate
  /** what plays there may go on the air */
  readonly radioOutputs: readonly (string | undefined)[]
}

export function levelsCommand(edges: Edges): Command {
  return new Command('levels')
    .description(
      'Shows level, noise, clipping, spectrum and tone balance of an input, with advice. Nothing is transmitted.',
    )
    .argument('[input]', `a WAV file, or ${audioSpecForms}; alsa:default unless given`)
    .addOption(
      bitRateOption(
        'bits a second on the air of the packets to look for; with --config that of the radio',
      ),
    )
    .option('--list', 'list the sound cards and end', false)
    .option('--config <file>', "the input of that configuration's radio")
    .option('--radio <number>', 'which of its radios', wholeNumber(0, 15), 0)
    .option(
      '--rate <hertz>',
      'samples a second of device or stream',
      wholeNumber(8000, 192_000),
      48_000,
    )
    .addOption(
      new Option('--sample-format <name>', 'how samples lie in device or stream')
        .choices(sampleFormats)
        .default('s16le'),
    )
    .option('--channels <count>', 'channels of device or stream', wholeNumber(1, 32), 1)
    .option('--channel <number>', 'the channel to look at, 0 the left one', wholeNumber(0, 255), 0)
    .option(
      '--no-plot',
      'plain lines, without a drawing: for a screen reader, or a terminal without a cursor',
    )
    .option(
      '--audible [output]',
      'play tones whose pitch follows level and tone balance, on headphones: alsa:default unless given',
    )
    .option('--seconds <count>', 'end by itself after so long', number(0.1, 86_400))
    .action((input: string | undefined, options: LevelsOptions) => levels(edges, input, options))
}

async function levels(
  edges: Edges,
  given: string | undefined,
  options: LevelsOptions,
): Promise<void> {
  if (options.list) return list(edges)
  const input = await chooseInput(given, options)
  const parsed = parseAudioSpec(input.spec)
  if (options.audible !== undefined) checkAudible(edges, parsed.kind, input, options)
  if (parsed.kind === 'wav') await measureFile(edges, parsed.path, input, options)
  else await measureLive(edges, input, options)
}

async function chooseInput(given: string | undefined, options: LevelsOptions): Promise<Input> {
  if (options.config === undefined) {
    const isFile = given !== undefined && /\.wav$/i.test(given) && !given.startsWith('wav:')
    const { rate: sampleRateHz, sampleFormat, channels: channelCount, channel } = options
    return {
      spec: isFile ? `wav:${given}` : (given ?? 'alsa:default'),
      layout: { sampleRateHz, sampleFormat, channelCount, channel },
      bitRate: options.bitRate,
      radioOutputs: [],
    }
  }
  if (given !== undefined)
    throw new UsageError({
      code: 'levels-input',
      subject: 'levels',
      got: 'an input and --config',
      expected: 'one of them',
    })
  const { radios } = await loadConfig(options.config)
  const radio = radios[options.radio]
  if (radio === undefined)
    throw new UsageError({
      code: 'levels-radio',
      subject: '--radio',
      got: String(options.radio),
      expected: `0 to ${radios.length - 1}, as ${options.config} has them`,
    })
  const { input, rateHz: sampleRateHz, sampleFormat, channelCount, channel } = radio.audio
  const spec = audioSpecAt(input, dirname(resolve(options.config)))
  const radioOutputs = radios.map(({ audio }) => audio.output)
  return {
    ...{ spec, layout: { sampleRateHz, sampleFormat, channelCount, channel }, radioOutputs },
    bitRate: radio.signal.bitRate,
  }
}

/** As fast as it can be read; a line for each second, for each minute's sixtieth in long ones. */
async function measureFile(
  edges: Edges,
  file: string,
  input: Input,
  options: LevelsOptions,
): Promise<void> {
  const recording = openWavRecording(file)
  const { sampleRateHz, channelCount, durationS = 0 } = recording
  const { channel } = input.layout
  if (channel >= channelCount) {
    recording.close()
    throw channelFailure(file, channel, channelCount)
  }
  for (const warning of recording.warnings)
    edges.stderr.write(`ridgepost: ${harmlessText(`${file}: ${warning}`)}\n`)
  const title = `${file}  ${sampleRateHz} Hz, channel ${channel} of ${channelCount}`
  checkBitRate(input.bitRate, sampleRateHz, title)
  const modem = await loadModem(input.bitRate)
  const watch = createLevelsWatch({ title, sampleRateHz, modem })
  const screen = createLevelsScreen(edges.stdout, isDrawable(edges.stdout, edges.env, options.plot))
  edges.onStop(() => recording.close())
  const everyS = Math.max(1, Math.ceil(durationS / 60))
  try {
    for await (const block of recording.blocks()) {
      const samples = block[channel]!
      for (const frame of watch.push(samples)) screen.frame(frame)
      if (watch.sinceReadingS >= everyS) screen.show(watch.read())
      if (screen.isGone || watch.atS >= (options.seconds ?? Infinity)) break
    }
    for (const frame of watch.finish()) screen.frame(frame)
  } finally {
    recording.close()
  }
  screen.end(watch.readTotal())
}

async function measureLive(edges: Edges, input: Input, options: LevelsOptions): Promise<void> {
  const { clock } = edges
  const { layout, spec } = input
  const source = openAudioSource(spec, {
    ...layout,
    clock,
    env: edges.env,
    ...stdinOf(edges, spec),
  })
  const { sampleRateHz } = source
  const title = `${spec}  ${sampleRateHz} Hz, channel ${layout.channel} of ${layout.channelCount}`
  checkBitRate(input.bitRate, sampleRateHz, title)
  const modem = await loadModem(input.bitRate)
  const watch = createLevelsWatch({ title, sampleRateHz, modem })
  const screen = createLevelsScreen(edges.stdout, isDrawable(edges.stdout, edges.env, options.plot))
  await tellControls(edges, spec)
  const say = (failure: Failure): void => {
    screen.hide()
    edges.stderr.write(`ridgepost: ${harmlessText(failure.message)}\n`)
  }
  const cancelTones =
    options.audible === undefined ? () => {} : playLevels(audibleOf(options), watch, edges)
  let cancelTicks: Cancel = () => {}
  let cancelEnd: Cancel = () => {}
  await new Promise<void>((resolve) => {
    edges.onStop(resolve)
    source.open({
      onBlock(block) {
        for (const frame of watch.push(block)) screen.frame(frame)
        // A device without a clock of its own may bring days of audio in a second.
        if (options.seconds !== undefined && watch.atS >= options.seconds) resolve()
      },
      onFault: say,
      onEnd: resolve,
    })
    cancelTicks = every(clock, screen.intervalMs, () => {
      if (watch.sinceReadingS > 0) screen.show(watch.read())
      if (screen.isGone) resolve()
    })
    // Also when nothing comes.
    if (options.seconds !== undefined)
      cancelEnd = clock.at(clock.monotonicMs() + options.seconds * 1000 + 500, resolve)
  })
  cancelTones()
  cancelTicks()
  cancelEnd()
  await source.close()
  finish(edges, watch, screen, source.counters.overruns)
}

function finish(
  edges: Edges,
  watch: LevelsWatch,
  screen: ReturnType<typeof createLevelsScreen>,
  overruns: number,
): void {
  for (const frame of watch.finish()) screen.frame(frame)
  screen.end(watch.readTotal())
  if (overruns > 0) edges.stderr.write(`ridgepost: the card lost audio ${overruns} times\n`)
  if (watch.atS === 0) edges.setExitCode(1)
}

const audibleOf = ({ audible }: LevelsOptions): string =>
  typeof audible === 'string' ? audible : 'alsa:default'

function checkAudible(edges: Edges, kind: string, input: Input, options: LevelsOptions): void {
  if (kind === 'wav')
    throw new UsageError({
      code: 'levels-audible',
      subject: '--audible',
      got: 'a recording, which is read faster than it can be heard',
      expected: 'a live input',
    })
  refuseRadioOutput(audibleOf(options), input.radioOutputs)
  for (const line of audibleWords) edges.stdout.write(`${line}\n`)
}

/** The mixer's controls of a sound card's input, before anything is measured. */
async function tellControls(edges: Edges, spec: string): Promise<void> {
  const parsed = parseAudioSpec(spec)
  if (parsed.kind !== 'alsa') return
  const controls = await readInputControls(parsed.device, edges.env)
  const lines = adviseOnControls(controls, mixerArguments(parsed.device) ?? [])
  if (lines.length > 0)
    edges.stdout.write(`${["the card's own controls:", ...lines].join('\n  ')}\n`)
}

const stdinOf = (edges: Edges, spec: string): Pick<AudioOptions, 'stdin'> =>
  spec === 'pcm:-' ? { stdin: edges.stdin as NonNullable<AudioOptions['stdin']> } : {}

async function list(edges: Edges): Promise<void> {
  const spawn = spawnTied(edges.env)
  for (const direction of ['input', 'output'] as const) {
    const devices = await listAlsaDevices(direction, spawn)
    edges.stdout.write(`${direction}s\n`)
    const width = Math.max(...devices.map(({ spec }) => spec.length))
    for (const { spec, description } of devices)
      edges.stdout.write(`  ${harmlessText(`${spec.padEnd(width)}  ${description}`)}\n`)
    if (devices.length === 0) edges.stdout.write('  no sound card found\n')
  }
}
