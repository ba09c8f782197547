import type { LostFrame } from '../../../dsp/causes/lossWatch.js'
import type { SoundSums } from '../../../dsp/measure/soundTally.js'
import type { ReceivedFrame } from '../../../dsp/modem/receivedFrame.js'
import type { Listener } from './listeners.js'
import type { TrackReport } from './report/report.js'

/** What a channel gave: frames, and what was lost where somebody asks for it. */
export interface Heard {
  readonly channel: number
  readonly frames: readonly ReceivedFrame[]
  readonly lost: readonly LostFrame[]
}

/** One channel of a recording with all that listens to it. */
export interface Ear {
  readonly channel: number
  /** @param block of each channel of the recording */
  push(block: readonly Float32Array[]): Heard
  finish(): Heard
  /** what it sounded like; undefined where nobody asks why */
  readonly sound: SoundSums | undefined
  /** It is read to its end, or given up. */
  close(): void
}

/** What tells why something was lost. */
export interface Explaining {
  readonly createLossWatch: typeof import('../../../dsp/causes/lossWatch.js').createLossWatch
  readonly createSoundTally: typeof import('../../../dsp/measure/soundTally.js').createSoundTally
}

/** Loaded for who asks. */
export async function loadExplaining(): Promise<Explaining> {
  const { createLossWatch } = await import('../../../dsp/causes/lossWatch.js')
  const { createSoundTally } = await import('../../../dsp/measure/soundTally.js')
  return { createLossWatch, createSoundTally }
}

/**
 * @param report gets what was read and lost
 * @param explaining there where a report or words about what was lost are wanted
 * @param isExplained signals that the receiver told nothing of are looked for, too
 */
export function createEar(
  listener: Listener,
  sampleRateHz: number,
  report: TrackReport | undefined,
  explaining: Explaining | undefined,
  isExplained: boolean,
): Ear {
  const { channel } = listener
  const watch = explaining?.createLossWatch({ sampleRateHz, findsAll: isExplained })
  const sound = isExplained ? explaining?.createSoundTally(sampleRateHz) : undefined
  const heard = (frames: readonly ReceivedFrame[], lost: readonly LostFrame[]): Heard => {
    report?.take(frames, lost)
    return { channel, frames, lost }
  }
  const lostBeside = (frames: readonly ReceivedFrame[]): readonly LostFrame[] =>
    watch?.take(frames, listener.takeDamaged()) ?? []
  return {
    channel,
    push(block) {
      const frames = listener.push(block)
      report?.push(block[channel]!)
      watch?.push(block[channel]!)
      sound?.push(block[channel]!)
      return heard(frames, lostBeside(frames))
    },
    finish() {
      const frames = listener.finish()
      return heard(frames, [...lostBeside(frames), ...(watch?.finish() ?? [])])
    },
    get sound() {
      return sound?.sums
    },
    close: () => report?.finish(),
  }
}
