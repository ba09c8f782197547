import type { LostFrame } from '../../../dsp/causes/lossWatch.js'
import type { ReceivedFrame } from '../../../dsp/modem/receivedFrame.js'
import type { DecodeSinks } from './decodeRecording.js'
import type { Ear, Heard } from './ear.js'
import type { Recording } from './recording.js'

/** Writes what was heard of a recording, and what was lost, where that is asked for. */
export interface OutcomeLines {
  /** @param samples of the recording that were read; Infinity at its end */
  take(heard: readonly Heard[], samples: number): void
  /** At its end, of each channel. */
  summaries(ears: readonly Ear[]): void
}

interface Waiting {
  readonly atSample: number
  write(): void
}

/** A lost frame is told some time after its end; frames wait as long, so that all stand in order. */
const waitS = 4

export function createOutcomeLines(
  { name: file, sampleRateHz }: Recording,
  { output, progress, format, capture }: DecodeSinks,
  { explain, utc = 0 }: { readonly explain: boolean; readonly utc?: number | undefined },
): OutcomeLines {
  let waiting: Waiting[] = []
  const read = new Map<number, { readCount: number; repairedCount: number }>()
  const losses = new Map<number, LostFrame[]>()

  const addFrame = (channel: number, received: ReceivedFrame): void => {
    const counts = read.get(channel) ?? { readCount: 0, repairedCount: 0 }
    counts.readCount++
    if (received.repairedBits > 0) counts.repairedCount++
    read.set(channel, counts)
    waiting.push({
      atSample: explain ? received.firstSample : received.lastSample,
      write() {
        output.write(format.frame({ file, channel, sampleRateHz, received }))
        capture?.write(received.octets, utc + (received.lastSample * 1000) / sampleRateHz, channel)
      },
    })
  }
  const addLoss = (channel: number, lost: LostFrame): void => {
    losses.set(channel, [...(losses.get(channel) ?? []), lost])
    waiting.push({
      atSample: lost.firstSample,
      write: () => output.write(format.lost({ file, channel, sampleRateHz, lost })),
    })
  }
  return {
    take(heard, samples) {
      for (const { channel, frames, lost } of heard) {
        for (const frame of frames) addFrame(channel, frame)
        if (explain) for (const one of lost) addLoss(channel, one)
      }
      const isDue = ({ atSample }: Waiting): boolean =>
        !explain || atSample < samples - waitS * sampleRateHz
      const due = waiting.filter(isDue).toSorted((a, b) => a.atSample - b.atSample)
      if (due.length === 0) return
      waiting = waiting.filter((one) => !isDue(one))
      progress.hide()
      for (const one of due) one.write()
    },
    summaries(ears) {
      for (const { channel, sound } of ears) {
        if (sound === undefined) continue
        const counts = read.get(channel) ?? { readCount: 0, repairedCount: 0 }
        progress.hide()
        output.write(
          format.summary({ file, channel, ...counts, losses: losses.get(channel) ?? [], sound }),
        )
      }
    },
  }
}
