import { loadModem } from '../../../dsp/modem/modems.js'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'
import type { RepairLevel } from '../../../dsp/modem/receivedFrame.js'
import { channelFailure } from '../../audio/wavDevices.js'
import { checkBitRate } from '../../radio/bitRate.js'
import type { CaptureFile } from '../run/captureFile.js'
import type { TextOutput } from '../shared/textOutput.js'
import type { FrameFormat } from './decodeFormat.js'
import type { Progress } from './decodeProgress.js'
import { addCounters, type Tally } from './decodeTally.js'
import { createEar, type Heard, loadExplaining } from './ear.js'
import { channelListener, combinedListener } from './listeners.js'
import { createOutcomeLines } from './outcomeLines.js'
import type { Recording } from './recording.js'
import type { Report } from './report/report.js'

export interface DecodeSinks {
  readonly format: FrameFormat
  readonly output: TextOutput
  readonly capture: CaptureFile | undefined
  readonly progress: Progress
  readonly stop: AbortSignal
  readonly report: Report | undefined
}

/**
 * Decodes one recording, each of its channels on its own, in the order in which the frames ended.
 * @returns what is to be said of it beside its frames
 * @throws Failure when the recording has not that channel, or a medium fails
 */
export async function decodeRecording(
  recording: Recording,
  options: {
    readonly channel: number | 'all'
    readonly repair: RepairLevel
    readonly il2p: boolean
    /** its channels are receivers of one transmission */
    readonly combine: boolean
    readonly bitRate: BitRate
    /** what was lost is told, too */
    readonly explain: boolean
    /** when it began, UTC */
    readonly utc?: number | undefined
    /** no other is decoded */
    readonly isOnly: boolean
  },
  sinks: DecodeSinks,
  total: Tally,
): Promise<string | undefined> {
  const { sampleRateHz, channelCount } = recording
  const { output, progress } = sinks
  const channels = chosenChannels(recording, options.channel)
  const { repair, il2p, bitRate } = options
  checkBitRate(bitRate, sampleRateHz, recording.name)
  const { createReceiver } = await loadModem(bitRate)
  const each = { sampleRateHz, repair, il2p, createReceiver }
  const listeners =
    options.combine && channelCount > 1
      ? [combinedListener(channelCount, each)]
      : channels.map((channel) => channelListener(channel, each))
  const isAlone = options.isOnly && listeners.length === 1
  const tellsWhy = options.explain || sinks.report !== undefined
  const explaining = tellsWhy ? await loadExplaining() : undefined
  const ears = listeners.map((listener) =>
    createEar(
      listener,
      sampleRateHz,
      sinks.report?.track(recording, listener.channel, isAlone),
      explaining,
      options.explain,
    ),
  )
  let frames = 0
  const addUp = (samples: number): void => {
    total.files++
    total.audioS += samples / sampleRateHz
    for (const { counters } of listeners) addCounters(total, counters)
  }
  const lines = createOutcomeLines(recording, sinks, options)
  const tell = (heard: readonly Heard[], samples: number): void => {
    frames += heard.reduce((sum, one) => sum + one.frames.length, 0)
    lines.take(heard, samples)
  }

  output.write(sinks.format.heading({ ...recording, channelCount }))
  let samples = 0
  try {
    for await (const block of recording.blocks()) {
      const heard = ears.map((ear) => ear.push(block))
      samples += block[0]!.length
      tell(heard, samples)
      progress.show(recording, samples / sampleRateHz, frames)
      await output.ready()
      if (output.isGone || sinks.stop.aborted) break
    }
    tell(
      ears.map((ear) => ear.finish()),
      Number.POSITIVE_INFINITY,
    )
    lines.summaries(ears)
    // A summary says as much.
    if (!options.explain) output.write(sinks.format.ending(frames))
    return listeners[0]?.remark?.()
  } finally {
    addUp(samples)
    // Of a recording that broke off, too.
    for (const ear of ears) ear.close()
  }
}

function chosenChannels(recording: Recording, wanted: number | 'all'): number[] {
  const { name, channelCount } = recording
  if (wanted === 'all') return Array.from({ length: channelCount }, (_, channel) => channel)
  if (wanted >= channelCount) throw channelFailure(name, wanted, channelCount)
  return [wanted]
}
