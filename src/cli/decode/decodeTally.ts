import type { ReceiverCounters } from '../../../dsp/modem/receivedFrame.js'

/** What a run of decode adds up. */
export interface Tally {
  files: number
  unreadFiles: number
  frames: number
  repaired: number
  fcsRejected: number
  implausible: number
  /** of all recordings; several channels count once */
  audioS: number
}

export const tally = (): Tally => ({
  files: 0,
  unreadFiles: 0,
  frames: 0,
  repaired: 0,
  fcsRejected: 0,
  implausible: 0,
  audioS: 0,
})

export function addCounters(total: Tally, counters: Readonly<ReceiverCounters>): void {
  total.frames += counters.frames
  total.repaired += counters.repaired
  total.fcsRejected += counters.fcsRejected
  total.implausible += counters.implausible
}
