import { basename, dirname, resolve } from 'node:path'
import { Argument, Command } from 'commander'
import { createWav } from '../../audio/wavWriter.js'
import { loadConfig } from '../../config/load.js'
import type { Config, RadioSection } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import { type Tone, tones } from '../../radio/radioPort.js'
import { transmissionAudio } from '../../radio/transmissionAudio.js'
import { callSignProblem } from '../../regulations/callSign.js'
import { Failure } from '../../runtime/failure.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { lockRadios } from '../../setup/keyLocks.js'
import { openRadio } from '../../setup/openRadio.js'
import { wrapped } from '../shared/finding.js'
import { number, wholeNumber } from '../shared/optionValues.js'
import { UsageError } from '../shared/usageError.js'
import { finalOutcome } from './finalOutcome.js'
import { askForHang } from './toneVox.js'

interface ToneFlags {
  readonly radio: number
  readonly seconds: number
  readonly level?: number
  readonly balance?: number
  readonly to?: string
  readonly rate: number
  readonly confirm?: string
}

/** Keying up, channel access and unkeying take this much of the time-out timer, s. */
const timeOutMarginS = 0.5
/** How long a busy channel or a duty limit may keep the tone waiting. */
const waitMs = 60_000

/** `ridgepost tone`: steady tones for setting levels, into a file or, with everything that it takes, on the air. */
export function toneCommand(edges: Edges, open: typeof openRadio = openRadio): Command {
  return new Command('tone')
    .description(
      'Send a steady test tone for setting deviation, for a few seconds, or write it to a WAV file without any radio.',
    )
    .addArgument(
      new Argument(
        '<tone>',
        'mark 1200 Hz, space 2200 Hz, alternating symbols, both tones; flags and a frame, to find the key delay; or vox, to find how long a radio without a key line stays on the air',
      ).choices([...tones, 'vox']),
    )
    .argument('[config]', 'configuration file', 'node.toml')
    .option('--radio <n>', 'which radio of the configuration', wholeNumber(0, 15), 0)
    .option(
      '--seconds <s>',
      'how long; on the air less than the time-out timer',
      number(0.1, 600),
      5,
    )
    .option('--level <dbfs>', 'peak of the larger tone, dB below full scale', number(-60, 0))
    .option('--balance <db>', 'space tone over mark tone, alternating only', number(-12, 12))
    .option('--to <wav:file>', 'write a WAV file; no radio is opened, no configuration read')
    .option('--rate <hz>', 'sample rate of the WAV file', wholeNumber(8000, 192_000), 48_000)
    .option(
      '--confirm <call>',
      "key the transmitter: type the station's call sign, as the one who answers for it",
    )
    .action(async (tone: Tone | 'vox', file: string, flags: ToneFlags) => {
      if (flags.to === undefined) await sendTone(tone, file, flags, edges, open)
      else writeTone(tone, flags.to, flags, edges)
    })
}

function writeTone(tone: Tone | 'vox', to: string, flags: ToneFlags, edges: Edges): void {
  const file = /^wav:(.+)$/s.exec(to)?.[1] ?? (/\.wav$/i.test(to) ? to : undefined)
  if (file === undefined)
    throw new UsageError({
      code: 'tone-to',
      subject: '--to',
      got: JSON.stringify(to),
      expected: 'wav:FILE, or a name that ends in .wav',
    })
  if (tone === 'flags' || tone === 'vox')
    throw new UsageError({
      code: 'tone-flags',
      subject: '--to',
      problem: `${tone} needs a radio: it measures the transmitter. Leave out --to`,
    })
  const levelDbfs = flags.level ?? -6
  const samples = transmissionAudio(
    { kind: 'tone', tone, durationMs: flags.seconds * 1000 },
    {
      sampleRateHz: flags.rate,
      peakLevel: 10 ** (levelDbfs / 20),
      toneBalanceDb: flags.balance ?? 0,
    },
  )
  const wav = createWav(file, { sampleRateHz: flags.rate, sampleFormat: 's16le', channelCount: 1 })
  wav.write(samples)
  wav.close()
  edges.stderr.write(
    `${toneWords[tone]}, ${flags.seconds} s, peak ${levelDbfs} dBFS, written to ${file}. Nothing was transmitted.\n`,
  )
}

async function sendTone(
  tone: Tone | 'vox',
  file: string,
  flags: ToneFlags,
  edges: Edges,
  open: typeof openRadio,
): Promise<void> {
  const config = await loadConfig(file)
  const radio = config.radios[flags.radio]
  checkPermission(config, radio, file, flags)
  edges.stderr.write(`${caution(config, radio!, tone, flags).join('\n')}\n`)
  checkConfirmation(config, flags)
  const unlock = await lockRadios(config, [flags.radio], dirname(resolve(file)), edges.clock)
  try {
    if (tone === 'vox') await measureVox(file, flags, config, edges, open)
    else await keyTone(tone, file, flags, config, edges, open)
  } finally {
    await unlock()
  }
}

async function measureVox(
  file: string,
  flags: ToneFlags,
  config: Config,
  edges: Edges,
  open: typeof openRadio,
): Promise<void> {
  const radio = config.radios[flags.radio]!
  const { clock, random, stderr } = edges
  const onFault = (text: string): void => void stderr.write(`${harmlessText(text)}\n`)
  const around = { clock, random, onFault }
  const { port, start } = open(config, flags.radio, dirname(resolve(file)), around, {
    levelDbfs: flags.level,
  })
  edges.onStop(() => port.hold('operator', 'stopped at the keyboard'))
  start()
  const isKnown = await askForHang(port, radio, edges)
  // Closing sends the identification that is owed.
  await port.close()
  if (!isKnown) edges.setExitCode(1)
}

async function keyTone(
  tone: Tone,
  file: string,
  flags: ToneFlags,
  config: Config,
  edges: Edges,
  open: typeof openRadio,
): Promise<void> {
  const { clock, random, stderr } = edges
  const onFault = (text: string): void => void stderr.write(`${harmlessText(text)}\n`)
  const around = { clock, random, onFault }
  const { port, start } = open(config, flags.radio, dirname(resolve(file)), around, {
    levelDbfs: flags.level,
    toneBalanceDb: flags.balance,
  })
  edges.onStop(() => port.hold('operator', 'stopped at the keyboard'))
  // The frame behind the flags names the station.
  let identified = tone === 'flags'
  port.onEvent((event) => {
    const { kind } = event
    identified ||= kind === 'identified'
    if (kind === 'keyed' || kind === 'unkeyed') stderr.write(`${kind}\n`)
    else if (kind === 'fault') stderr.write(`fault: ${harmlessText(event.reason)}\n`)
  })
  const settled = finalOutcome(port, toneId, (reason) => {
    stderr.write(`held: ${harmlessText(reason.replace(/^held by /, ''))}\n`)
  })
  start()
  const durationMs = flags.seconds * 1000
  const notAfterMs = edges.clock.monotonicMs() + waitMs
  port.sendTone({ id: toneId, tone, durationMs, notAfterMs })
  const outcome = await settled
  // Closing sends the identification that is owed now, and unkeys whatever comes.
  await port.close()
  if (outcome.kind !== 'sent') edges.stderr.write(`not sent: ${harmlessText(outcome.reason)}\n`)
  else if (identified)
    edges.stderr.write(`sent ${flags.seconds} s, identified as ${config.station.call}, unkeyed\n`)
  else
    edges.stderr.write(
      `sent ${flags.seconds} s, unkeyed; NOT identified, because the channel stayed busy: identify by voice now\n`,
    )
  if (outcome.kind !== 'sent' || !identified) edges.setExitCode(1)
}

/** @throws Failure or UsageError for everything that stands against keying */
function checkPermission(
  config: Config,
  radio: RadioSection | undefined,
  file: string,
  flags: ToneFlags,
): void {
  const refuse = (code: string, got: string, expected: string, advice: string): never => {
    throw new Failure({ code, subject: basename(file), got, expected, advice })
  }
  if (radio === undefined)
    throw new UsageError({
      code: 'no-such-radio',
      subject: '--radio',
      got: String(flags.radio),
      expected: `0 to ${config.radios.length - 1}: ${basename(file)} has ${config.radios.length}`,
    })
  const toFile = 'or write a file with --to wav:FILE'
  if (!radio.transmit.enabled)
    refuse('tone-not-enabled', 'transmit.enabled = false', 'true', `see \`check\`, ${toFile}`)
  const problem = callSignProblem(config.station.call)
  if (problem !== undefined)
    refuse('tone-call', problem, 'the call sign of your licence as station.call', toFile)
  if (radio.modem.kind !== 'none')
    refuse('tone-modem', 'an external modem', 'a radio at a sound card', toFile)
  const longestS = radio.transmit.timeOutMs / 1000 - timeOutMarginS
  if (flags.seconds > longestS)
    throw new UsageError({
      code: 'tone-too-long',
      subject: '--seconds',
      got: String(flags.seconds),
      expected: `at most ${longestS}, within the time-out timer (transmit.timeOutMs)`,
    })
}

function checkConfirmation({ station }: Config, { confirm }: ToneFlags): void {
  if (confirm === station.call) return
  throw new UsageError({
    code: 'tone-not-confirmed',
    subject: '--confirm',
    got: confirm === undefined ? 'nothing' : JSON.stringify(confirm),
    expected: `the station's call sign, typed by the one who answers for it`,
    advice: `nothing was sent; to send, add --confirm ${station.call}`,
  })
}

const toneWords: Readonly<Record<Tone | 'vox', string>> = {
  mark: 'mark, a steady 1200 Hz',
  space: 'space, a steady 2200 Hz',
  alternating: 'alternating mark and space symbols at 1200 baud',
  'two-tone': 'both tones at once, 1200 Hz and 2200 Hz',
  vox: 'two tones with a silence between them, again and again, until it is known how long the radio stays on the air after its audio',
  flags:
    'flags, then a frame that says how long they lasted; `decode` and `levels` at another receiver tell from it what keyDelayMs is needed',
}

function caution(
  config: Config,
  radio: RadioSection,
  tone: Tone | 'vox',
  { seconds }: ToneFlags,
): string[] {
  const { frequencyMHz, powerW } = radio.transmit
  const isBaseband = tone === 'alternating' && radio.signal.bitRate === 9600
  const words = isBaseband ? 'alternating bits at 9600 bit/s, a steady 4800 Hz' : toneWords[tone]
  const where = frequencyMHz === undefined ? 'its frequency' : `${frequencyMHz} MHz`
  const power = powerW === undefined ? '' : ` at ${powerW} W`
  return [
    ...wrapped(
      `This keys the transmitter of ${config.station.call} on ${where}${power}${tone === 'vox' ? '' : ` for ${seconds} s`}: ${words}.`,
      '',
    ),
    ...wrapped(
      'Into a dummy load where you can. Only under your licence; listen first, choose a free frequency, keep tests brief; your call sign is sent after it. Nobody near the antenna (see `exposure`). It waits for a free channel and counts on the duty limit like everything else. Local rules come first. Ctrl-C unkeys.',
      '  ',
    ),
    ...wrapped(
      'Usual peak deviation with one tone is 3 to 3.5 kHz, with the larger tone (common practice, no source): beyond it the signal is wider, not louder.',
      '  ',
    ),
  ]
}

const toneId = 'tone'
