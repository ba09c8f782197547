import { causeAdvice } from '../../../dsp/causes/causeWords.js'
import type { LevelReading } from '../../../dsp/measure/levelMeter.js'
import type { Spectrum } from '../../../dsp/measure/spectrum.js'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'
import type { InputControl } from '../../audio/mixerControls.js'
import {
  balanceAdvice,
  balanceDbMax,
  clippedShareMax,
  mean,
  type PacketFigures,
  packetLevelAdvice,
  turnDown,
} from '../../radio/packetAdvice.js'

/** What `levels` knows when it gives its advice. */
export interface LevelsFindings {
  /** of a stretch of several seconds */
  readonly levels: LevelReading
  /** in steps of about 3 Hz */
  readonly spectrum: Spectrum | undefined
  /** the latest frames heard, at most a few dozen */
  readonly frames: readonly PacketFigures[]
  readonly bitRate: BitRate
}

/** Peak over RMS: 3 dB for a sine, 0 for a square wave; tones and noise together have more. */
const crestDbMin = 2
/** What to do about the input, the most urgent first; a single line of praise when nothing is wrong. */
export function adviseOnLevels(findings: LevelsFindings): string[] {
  const { levels, frames } = findings
  if (levels.durationS === 0) return ['no audio has come']
  if (levels.rmsDbfs < -90)
    return [
      'silence: is the radio on, the cable in the right socket, the input not muted in the mixer, the channel the right one?',
    ]
  const advice = [
    ...clippingAdvice(findings),
    ...(frames.length > 0 ? packetLevelAdvice(frames) : audioLevelAdvice(levels)),
    ...balanceAdvice(frames),
    ...humAdvice(findings),
  ]
  if (Math.abs(levels.dcOffset) > 0.03)
    advice.push(
      `the audio stands ${(100 * Math.abs(levels.dcOffset)).toFixed(0)} % of full scale off its centre: a coupling capacitor is missing, or the card has an offset`,
    )
  if (frames.length === 0 && findings.bitRate === 9600)
    advice.push(
      'no packet heard yet: 9600 bit/s need the flat port of the radio (discriminator, 9600), with the squelch open or not in the way; wait for one',
    )
  else if (frames.length === 0)
    advice.push(
      'no packet heard yet: open the squelch, use an input that the squelch does not mute, and wait for one',
    )
  return advice.length > 0 ? advice : [`levels are good: leave them${flatPraise(frames)}`]
}

/** Flat audio, as a data port gives it, is the best there is: nothing between the discriminator and us. */
function flatPraise(frames: LevelsFindings['frames']): string {
  if (frames.at(-1)?.bitRate === 9600) return ''
  const balanceDb = frames.length === 0 ? 0 : mean(frames.map((frame) => frame.toneBalanceDb))
  return balanceDb > balanceDbMax
    ? `; the audio is flat (2200 Hz tone ${balanceDb.toFixed(0)} dB high), as it should be from a data port`
    : ''
}

function clippingAdvice(findings: LevelsFindings): string[] {
  const { peakDbfs, rmsDbfs } = findings.levels
  const clippedShare = clippedShareOf(findings)
  if (clippedShare > clippedShareMax) return [turnDown(clippedShare)]
  if (peakDbfs - rmsDbfs < crestDbMin && rmsDbfs > -50)
    return [
      `the audio is clipped before it gets here, its peaks are flat at ${peakDbfs.toFixed(0)} dBFS: turn the radio's volume or an amplifier in between down`,
    ]
  return []
}

/** The hiss between packets may be clipped without harm, so packets decide where there are any. */
const clippedShareOf = ({ frames, levels }: LevelsFindings): number =>
  frames.length > 0 ? mean(frames.map((frame) => frame.clippedShare)) : levels.clippedShare

/** Without a packet, only the extremes tell anything: hiss of an open squelch is louder than packets. */
function audioLevelAdvice({ rmsDbfs }: LevelReading): string[] {
  if (rmsDbfs >= -50) return []
  return [`the audio is faint, ${rmsDbfs.toFixed(0)} dBFS: turn the input up, or open the squelch`]
}

/** Hum of the mains at 50 or 60 Hz and twice that, against the density of the audio in the voice band. */
function humAdvice({ spectrum, levels }: LevelsFindings): string[] {
  if (spectrum === undefined) return []
  const { binHz, levelsDbfs } = spectrum
  const around = (hz: number): number => {
    const bin = Math.round(hz / binHz)
    return Math.max(...levelsDbfs.subarray(Math.max(1, bin - 1), bin + 2))
  }
  for (const mainsHz of [50, 60]) {
    const humDbfs = Math.max(around(mainsHz), around(2 * mainsHz))
    const beside = Math.max(around(1.45 * mainsHz), around(3.5 * mainsHz))
    if (humDbfs > levels.rmsDbfs - 15 && humDbfs > beside + 15)
      return [`hum at ${mainsHz} Hz, ${humDbfs.toFixed(0)} dBFS: ${causeAdvice('hum')}`]
  }
  return []
}

/** What the card's own mixer does to the input, each with the command that sets it. */
export function adviseOnControls(
  controls: readonly InputControl[],
  cardArguments: readonly string[],
): string[] {
  const command = (name: string, value: string): string =>
    `amixer ${cardArguments.join(' ')} sset '${name}' ${value}`
  return controls.map(({ name, kind, percent, gainDb, isOn }) => {
    const value = [
      ...(percent === undefined ? [] : [`${percent} %`]),
      ...(gainDb === undefined ? [] : [`${gainDb} dB`]),
    ].join(', ')
    if (kind === 'automatic gain')
      return isOn === false
        ? `${name} is off: leave it so`
        : `${name} is on: switch it off, it turns packets into noise and back: ${command(name, 'off')}`
    if (kind === 'boost')
      return (percent ?? 0) > 0 || isOn === true
        ? `${name} is on${value === '' ? '' : ` (${value})`}: a radio needs none: ${command(name, percent === undefined ? 'off' : '0')}`
        : `${name} is off: leave it so`
    return isOn === false
      ? `${name} is ${value}, and switched off: ${command(name, 'cap')}`
      : `${name} is ${value}; set it with: ${command(name, `${percent ?? 50}%`)}`
  })
}
