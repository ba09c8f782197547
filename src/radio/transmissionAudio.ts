import { testTone } from '../../dsp/measure/testTone.js'
import { type Modem, toneModem } from '../../dsp/modem/modems.js'
import { transmissionDurationMs } from '../../dsp/modem/modulateTransmission.js'
import { markHz, spaceHz } from '../../dsp/modem/modulator.js'
import { morseDurationMs, morseTone } from '../../dsp/morse/morseTone.js'
import type { SteadyTone, TransmissionContent } from './transmissionContent.js'

export interface AudioShape {
  readonly sampleRateHz: number
  /** peak of the stronger tone, linear */
  readonly peakLevel: number
  /** space over mark, dB */
  readonly toneBalanceDb: number
}

/** Between the last flag and the call in Morse. */
const morsePauseMs = 200

/**
 * The samples of what a transmission carries: frames, a test tone, Morse.
 * @param modem of the content's bit rate
 */
export function transmissionAudio(
  content: TransmissionContent,
  shape: AudioShape,
  modem: Modem = toneModem,
): Float32Array {
  if (content.kind === 'tone') return toneWithGap(content, shape, modem)
  const { frames, preambleMs, tailMs, code, bitRate, morse } = content
  const packet = modem.modulate({ ...shape, frames, preambleMs, tailMs, code, bitRate })
  if (morse === undefined) return packet
  const call = morseTone({ ...morse, sampleRateHz: shape.sampleRateHz, level: shape.peakLevel })
  const pauseSamples = Math.round((morsePauseMs * shape.sampleRateHz) / 1000)
  const samples = new Float32Array(packet.length + pauseSamples + call.length)
  samples.set(packet)
  samples.set(call, packet.length + pauseSamples)
  return samples
}

/** How long they last; the sample rate rounds it up by less than a sample. */
export function contentDurationMs(content: TransmissionContent): number {
  if (content.kind === 'tone') return content.durationMs
  const { frames, preambleMs, tailMs, code, bitRate, morse } = content
  const packetMs = transmissionDurationMs({ frames, preambleMs, tailMs, code, bitRate })
  if (morse === undefined) return packetMs
  return packetMs + morsePauseMs + morseDurationMs(morse)
}

function toneWithGap(
  { tone, durationMs, gapMs = 0 }: Extract<TransmissionContent, { kind: 'tone' }>,
  shape: AudioShape,
  modem: Modem,
): Float32Array {
  if (gapMs === 0) return toneAudio(tone, durationMs, shape, modem)
  const burst = toneAudio(tone, (durationMs - gapMs) / 2, shape, modem)
  const samples = new Float32Array(Math.round((durationMs * shape.sampleRateHz) / 1000))
  samples.set(burst)
  samples.set(burst, samples.length - burst.length)
  return samples
}

function toneAudio(
  tone: SteadyTone,
  durationMs: number,
  shape: AudioShape,
  modem: Modem,
): Float32Array {
  if (tone !== 'alternating') return testTone({ ...shape, durationMs, tonesHz: tonesOf[tone] })
  const symbols = Math.ceil((durationMs * modem.bitRate) / 1000)
  return modem.modulateLevels(
    Uint8Array.from({ length: symbols }, (_, index) => index % 2),
    shape,
  )
}

/** Both at once are together no louder than one. */
const tonesOf: Readonly<Record<Exclude<SteadyTone, 'alternating'>, readonly number[]>> = {
  mark: [markHz],
  space: [spaceHz],
  'two-tone': [markHz, spaceHz],
}
