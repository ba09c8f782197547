import { parseAudioSpec } from '../../audio/audioSpec.js'
import { openAudioSink } from '../../audio/openAudio.js'
import type { Edges } from '../../devices/edges.js'
import { type Cancel, every } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { UsageError } from '../shared/usageError.js'
import { audioOf, tonesOf } from './levelsTones.js'
import type { LevelsWatch } from './levelsWatch.js'

export const audibleWords = [
  'You hear a short tone, then a longer one: the same pitch is the right level, higher is too loud, lower too faint (an octave is 12 dB).',
  'After a packet a second pair, higher up, tells of its tones: higher is a space tone too strong, lower too weak (an octave is 6 dB).',
  'Three short high tones: it is clipped. Play this on headphones or a speaker, never on the card of the radio: with VOX it would go on the air.',
] as const

/** Of a radio whose audio keys it, that would be a transmission. @throws UsageError */
export function refuseRadioOutput(
  spec: string,
  radioOutputs: readonly (string | undefined)[],
): void {
  parseAudioSpec(spec)
  if (!radioOutputs.includes(spec)) return
  throw new UsageError({
    code: 'levels-audible',
    subject: '--audible',
    got: `${spec}, which is the transmitter's audio output`,
    expected: 'headphones or a speaker, such as alsa:default',
  })
}

const everyMs = 1_500
const sampleRateHz = 48_000

/** Plays what the meter says, until cancelled. */
export function playLevels(spec: string, watch: LevelsWatch, edges: Edges): Cancel {
  const { clock, env, stderr } = edges
  const sink = openAudioSink(spec, {
    ...{ sampleRateHz, sampleFormat: 's16le', channelCount: 1, channel: 0, clock, env },
  })
  let frameCount = 0
  let isBroken = false
  const cancel = every(clock, everyMs, () => {
    if (isBroken || sink.playing) return
    const reading = watch.now()
    const isNew = reading.frameCount > frameCount
    frameCount = reading.frameCount
    sink.play(audioOf(tonesOf(reading, isNew), sink.sampleRateHz)).catch((error: unknown) => {
      isBroken = true
      stderr.write(`ridgepost: --audible: ${harmlessText(errorText(error))}\n`)
    })
  })
  return () => {
    cancel()
    void sink.close()
  }
}
