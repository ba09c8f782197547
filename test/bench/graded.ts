// Graded recordings: NAME.wav with NAME.json beside it, which lists the frames that are in there (`frames[].hex`, without FCS).
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { RepairLevel } from '../../dsp/modem/receivedFrame.js'
import { receiveCombined } from './receiveFile.js'

export interface SentFrame {
  readonly hex: string
  /** Eb/N0 of the frame, where the recording gives one */
  readonly ebn0_db?: number
}

export const namesIn = (folder: string): string[] =>
  readdirSync(folder)
    .filter((file) => file.endsWith('.wav'))
    .map((file) => file.slice(0, -'.wav'.length))
    .toSorted()

export function readTruth(folder: string, name: string): readonly SentFrame[] {
  const text = readFileSync(join(folder, `${name}.json`), 'utf8')
  return (JSON.parse(text) as { frames: SentFrame[] }).frames
}

export interface Score {
  readonly name: string
  readonly sent: number
  readonly found: number
  readonly repaired: number
  /** frames handed out that were never sent */
  readonly wrong: number
  /** frames handed out more often than they were sent */
  readonly doubled: number
  readonly audioS: number
  readonly cpuS: number
}

/** What the receiver makes of one recording; the channels of one with several are receivers of one transmission. */
export function scoreOf(folder: string, name: string, repair: RepairLevel): Score {
  const truth = readTruth(folder, name)
  const left = new Map<string, number>()
  for (const { hex } of truth) left.set(hex, (left.get(hex) ?? 0) + 1)
  const { frames, audioS, cpuS } = receiveCombined(join(folder, `${name}.wav`), { repair })
  let [found, repaired, wrong, doubled] = [0, 0, 0, 0]
  for (const frame of frames) {
    const hex = Buffer.from(frame.octets).toString('hex')
    const count = left.get(hex)
    if (count === undefined) wrong++
    else if (count === 0) doubled++
    else {
      found++
      if (frame.repairedBits > 0) repaired++
      left.set(hex, count - 1)
    }
  }
  return { name, sent: truth.length, found, repaired, wrong, doubled, audioS, cpuS }
}
