import { Command, Option } from 'commander'
import { loadModem } from '../../../dsp/modem/modems.js'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'
import { type SampleFormat, sampleFormats } from '../../audio/audioDevice.js'
import { createWav } from '../../audio/wavWriter.js'
import type { Edges } from '../../devices/edges.js'
import { checkBitRate } from '../../radio/bitRate.js'
import { sendingCodes } from '../../setup/sendingCodes.js'
import { clockText } from '../decode/decodeFormat.js'
import { bitRateOption } from '../shared/bitRate.js'
import { number, wholeNumber } from '../shared/optionValues.js'
import { UsageError } from '../shared/usageError.js'
import { renderAudio } from './encodeAudio.js'
import { type EncodeRequest, readFrames } from './encodeFrames.js'

interface EncodeOptions extends EncodeRequest {
  readonly output: string
  readonly rate: number
  readonly bitRate: BitRate
  readonly sampleFormat: SampleFormat
  readonly level: number
  readonly balance: number
  readonly preamble: number
  readonly tail: number
  readonly gap: number
  readonly together: boolean
  readonly errorCorrection: keyof typeof sendingCodes
  readonly rateError: number
  readonly offset: number
  readonly noise?: number
  readonly seed: number
}

export function encodeCommand(edges: Edges): Command {
  return new Command('encode')
    .description(
      'Writes frames as audio to a WAV file. Nothing is transmitted; playing the file into a transmitter needs a licence.',
    )
    .argument('[line...]', 'frames as FROM>TO,PATH*:payload; read from standard input without any')
    .requiredOption('--output <file.wav>', 'the WAV file to write')
    .option(
      '--input <file>',
      'frames from a file, one a line; empty lines and lines with # are passed over',
    )
    .option('--from <call>', 'a message instead of lines: its sender')
    .option('--to <call>', 'its addressee')
    .option('--message <text>', 'its text, at most 67 characters')
    .option(
      '--number <id>',
      'its number, 1 to 5 letters and digits, which asks for an acknowledgement',
    )
    .option('--path <calls>', 'its digipeaters, WIDE1-1,WIDE2-1')
    .addOption(bitRateOption('bits a second on the air: 1200 as two tones, 9600 for flat audio'))
    .option('--rate <hertz>', 'samples a second', wholeNumber(8000, 192_000), 48_000)
    .addOption(
      new Option('--sample-format <name>', 'how samples lie in the file')
        .choices(sampleFormats.filter((name) => name !== 's16be'))
        .default('s16le'),
    )
    .option('--level <dBFS>', 'mean level; a full-scale sine has -3', number(-80, -3), -12)
    .option('--balance <dB>', 'level of the 2200 Hz tone over the 1200 Hz tone', number(-30, 30), 0)
    .option('--preamble <ms>', 'flags before each transmission', number(0, 10_000), 300)
    .option('--tail <ms>', 'flags after each transmission', number(0, 10_000), 50)
    .option(
      '--gap <ms>',
      'silence before, between and after transmissions',
      number(0, 600_000),
      500,
    )
    .option('--together', 'all frames in one transmission, not one each', false)
    .addOption(
      new Option('--error-correction <kind>', 'what frames go out with, as signal.errorCorrection')
        .choices(Object.keys(sendingCodes))
        .default('none'),
    )
    .option('--rate-error <ppm>', 'symbol rate over the nominal one', number(-60_000, 60_000), 0)
    .option('--offset <hertz>', 'both tones off their frequency', number(-500, 500), 0)
    .option('--noise <dB>', 'add white noise for this Eb/N0', number(-20, 100))
    .option('--seed <number>', 'another seed is another noise', wholeNumber(0, 2 ** 32 - 1), 1)
    .action((lines: string[], options: EncodeOptions) => encode(edges, lines, options))
}

async function encode(edges: Edges, lines: string[], options: EncodeOptions): Promise<void> {
  refuseTonesAt9600(options)
  checkBitRate(options.bitRate, options.rate, '--rate')
  const frames = await readFrames(edges, lines, options)
  const { modulate, peakOverRms } = await loadModem(options.bitRate)
  const audio = renderAudio({
    frames: options.together ? [frames] : frames.map((frame) => [frame]),
    sampleRateHz: options.rate,
    peakLevel: peakLevelOf(options.level, peakOverRms(options.balance)),
    modulate,
    bitRate: options.bitRate,
    toneBalanceDb: options.balance,
    preambleMs: options.preamble,
    tailMs: options.tail,
    code: sendingCodes[options.errorCorrection],
    gapMs: options.gap,
    symbolRateErrorPpm: options.rateError,
    toneOffsetHz: options.offset,
    noise: options.noise === undefined ? undefined : { ebN0Db: options.noise, seed: options.seed },
  })
  const wav = createWav(options.output, {
    sampleRateHz: options.rate,
    sampleFormat: options.sampleFormat,
    channelCount: 1,
  })
  let samples = 0
  let clipped = 0
  try {
    for (const block of audio) {
      wav.write(block)
      samples += block.length
      for (const sample of block) if (sample > 1 || sample < -1) clipped++
    }
  } finally {
    wav.close()
  }
  const count = `${frames.length} ${frames.length === 1 ? 'frame' : 'frames'}`
  const length = clockText(samples / options.rate, 1)
  edges.stderr.write(`${count}, ${length} of audio in ${options.output}\n`)
  if (clipped > 0)
    edges.stderr.write(
      `ridgepost: ${((100 * clipped) / samples).toFixed(1)} % of the samples are clipped; turn --level down\n`,
    )
}

/** What is said of two tones, where there are none. @throws UsageError */
function refuseTonesAt9600({ bitRate, balance, offset, errorCorrection }: EncodeOptions): void {
  if (bitRate !== 9600) return
  const isIl2p = sendingCodes[errorCorrection]?.kind === 'il2p'
  const given: readonly [string, boolean, string, string][] = [
    ['--balance', balance !== 0, `${balance}`, '0'],
    ['--offset', offset !== 0, `${offset}`, '0'],
    ['--error-correction', isIl2p, errorCorrection, 'none or fx25-16, -32, -64'],
  ]
  for (const [subject, isGiven, got, expected] of given)
    if (isGiven)
      throw new UsageError({
        ...{ code: 'tones-only', subject, got: `${got} beside --bit-rate 9600` },
        expected: `${expected}: it is for the two tones of 1200 bit/s`,
      })
}

/**
 * Amplitude of the peaks for a mean level.
 * @throws UsageError when that is beyond full scale
 */
function peakLevelOf(levelDbfs: number, peakOverRms: number): number {
  const peak = 10 ** (levelDbfs / 20) * peakOverRms
  // -3 stands for -3.01, the level of a full-scale sine.
  if (peak <= 10 ** 0.001) return Math.min(1, peak)
  const levelMax = -20 * Math.log10(peakOverRms)
  throw new UsageError({
    code: 'encode-level',
    subject: '--level',
    got: `${levelDbfs} dBFS, which clips the peaks`,
    expected: `${(Math.floor(levelMax * 10) / 10).toFixed(1)} or less with this signal`,
  })
}
