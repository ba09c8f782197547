import { loadModem } from '../../../dsp/modem/modems.js'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'
import type { ReceivedFrame, RepairLevel } from '../../../dsp/modem/receivedFrame.js'
import { channelFailure } from '../../audio/wavDevices.js'
import { checkBitRate } from '../../radio/bitRate.js'
import type { CaptureFile } from '../run/captureFile.js'
import type { TextOutput } from '../shared/textOutput.js'
import type { FrameFormat } from './decodeFormat.js'
import type { Progress } from './decodeProgress.js'
import { addCounters, type Tally } from './decodeTally.js'
import { createEar, type Heard } from './ear.js'
import { channelListener, combinedListener } from './listeners.js'
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
  const ears = listeners.map((listener) =>
    createEar(
      listener,
      sampleRateHz,
      sinks.report?.track(recording, listener.channel, isAlone),
      false,
    ),
  )
  let frames = 0
  const addUp = (samples: number): void => {
    total.files++
    total.audioS += samples / sampleRateHz
    for (const { counters } of listeners) addCounters(total, counters)
  }
  const tell = (heard: readonly Heard[]): void => {
    const found = heard.flatMap(({ channel, frames }) =>
      frames.map((received) => ({ channel, received })),
    )
    if (found.length === 0) return
    progress.hide()
    frames += found.length
    for (const { channel, received } of found.sort(byEnd)) {
      output.write(sinks.format.frame({ file: recording.name, channel, sampleRateHz, received }))
      const atMs = (received.lastSample * 1000) / sampleRateHz
      sinks.capture?.write(received.octets, atMs, channel)
    }
  }

  output.write(sinks.format.heading({ ...recording, channelCount }))
  let samples = 0
  try {
    for await (const block of recording.blocks()) {
      tell(ears.map((ear) => ear.push(block)))
      samples += block[0]!.length
      progress.show(recording, samples / sampleRateHz, frames)
      await output.ready()
      if (output.isGone || sinks.stop.aborted) break
    }
    tell(ears.map((ear) => ear.finish()))
    output.write(sinks.format.ending(frames))
    return listeners[0]?.remark?.()
  } finally {
    addUp(samples)
    // Of a recording that broke off, too.
    for (const ear of ears) ear.close()
  }
}

const byEnd = (a: { received: ReceivedFrame }, b: { received: ReceivedFrame }): number =>
  a.received.lastSample - b.received.lastSample

function chosenChannels(recording: Recording, wanted: number | 'all'): number[] {
  const { name, channelCount } = recording
  if (wanted === 'all') return Array.from({ length: channelCount }, (_, channel) => channel)
  if (wanted >= channelCount) throw channelFailure(name, wanted, channelCount)
  return [wanted]
}
