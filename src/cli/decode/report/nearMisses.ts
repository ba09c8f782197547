import type { DamagedFrame } from '../../../../dsp/modem/receivedFrame.js'

type Span = Pick<DamagedFrame, 'firstSample' | 'lastSample'>

/** Of one signal, detectors tell several damaged segments, now and then beside the frame that another of them read. */
export interface NearMisses {
  read(frame: Span): void
  add(damaged: DamagedFrame): void
  /** Each signal that was lost, once: the longest of what was told of it. @param beforeSample that ended before this */
  release(beforeSample: number): DamagedFrame[]
}

/** @param keptSamples for how long what was read is remembered */
export function createNearMisses(keptSamples: number): NearMisses {
  let reads: Span[] = []
  let waiting: DamagedFrame[] = []
  return {
    read(frame) {
      reads = [...reads.filter((one) => one.lastSample > frame.lastSample - keptSamples), frame]
    },
    add(damaged) {
      const at = waiting.findIndex((one) => isSame(one, damaged))
      if (at < 0) waiting.push(damaged)
      else if (length(damaged) > length(waiting[at]!)) waiting[at] = damaged
    },
    release(beforeSample) {
      const due = waiting.filter((one) => one.lastSample < beforeSample)
      waiting = waiting.filter((one) => one.lastSample >= beforeSample)
      return due.filter((one) => !reads.some((read) => isSame(read, one)))
    },
  }
}

const length = ({ firstSample, lastSample }: Span): number => lastSample - firstSample

/** Half of the shorter one lies in the other. */
function isSame(one: Span, other: Span): boolean {
  const common =
    Math.min(one.lastSample, other.lastSample) - Math.max(one.firstSample, other.firstSample)
  return common > Math.min(length(one), length(other)) / 2
}
