import type { Airtime, FinalOutcome } from '../radio/port.js'
import { followingMs } from './airtimeRules.js'
import { pace } from './pace.js'
import type { QueuedFrame } from './sendQueue.js'

/** The frames that a radio was given and that have no outcome yet; what they take, and how fast the radio sends them. */
export interface HandedFrames<Frame extends QueuedFrame> {
  readonly frames: readonly Frame[]
  has(id: string): boolean
  add(frame: Frame, airtime: Airtime, nowMs: number): void
  /** A duty limit or somebody holds it: the time until it goes out says nothing of the pace. */
  held(id: string): Frame | undefined
  /** @returns undefined for a frame that others gave the radio */
  ended(outcome: FinalOutcome): Frame | undefined
  /** time of the key line for all of them, with what follows each without waiting, ms */
  readonly openMs: number
  /** the same without answers, and without what follows */
  readonly aheadMs: number
  /** share of the time that acknowledgements took lately */
  acknowledgementShare(nowMs: number): number
  /** share of the time that the radio is on while it has something to send, as measured: 0 to 1 */
  readonly paceShare: number
}

interface Handed<Frame> {
  readonly frame: Frame
  readonly keyedMs: number
  /** for what follows it without waiting */
  readonly followingMs: number
  readonly atMs: number
  held: boolean
}

/** Acknowledgements of so long tell how many will come. */
const lately = 60_000

export function handedFrames<Frame extends QueuedFrame>(): HandedFrames<Frame> {
  const handed = new Map<string, Handed<Frame>>()
  const measured = pace()
  const acknowledged: { readonly atMs: number; readonly airtimeMs: number }[] = []
  let transmission = { atMs: Number.NEGATIVE_INFINITY, airtimeMs: 0, elapsedMs: 0 }

  /** Frames of one transmission end at one moment: they are measured together, when the next one ends. */
  const measure = ({ atMs, held }: Handed<Frame>, outcome: FinalOutcome): void => {
    if (outcome.kind !== 'sent') return
    if (outcome.atMs !== transmission.atMs) {
      measured.note(transmission.airtimeMs, transmission.elapsedMs)
      const sinceMs = Math.max(atMs, transmission.atMs)
      // While a duty limit or somebody held the frame, nothing could be measured.
      const elapsedMs = held ? 0 : outcome.atMs - sinceMs
      transmission = { atMs: outcome.atMs, airtimeMs: 0, elapsedMs }
    }
    transmission.airtimeMs += outcome.airtimeMs
  }

  return {
    get frames() {
      return [...handed.values()].map(({ frame }) => frame)
    },
    has: (id) => handed.has(id),
    add(frame, airtime, nowMs) {
      // What frames share is counted once: with the first.
      const sharedMs = handed.size > 0 ? airtime.keyedMs([]) : 0
      handed.set(frame.id, {
        ...{ frame, atMs: nowMs, held: false },
        keyedMs: airtime.keyedMs([frame.octets]) - sharedMs,
        followingMs: followingMs(frame, airtime),
      })
    },
    held(id) {
      const entry = handed.get(id)
      if (entry !== undefined) entry.held = true
      return entry?.frame
    },
    ended(outcome) {
      const entry = handed.get(outcome.id)
      if (entry === undefined) return undefined
      handed.delete(outcome.id)
      measure(entry, outcome)
      if (outcome.kind === 'sent' && entry.frame.priority === 'acknowledgement')
        acknowledged.push(outcome)
      return entry.frame
    },
    get openMs() {
      let sumMs = 0
      for (const { keyedMs, followingMs } of handed.values()) sumMs += keyedMs + followingMs
      return sumMs
    },
    get aheadMs() {
      let sumMs = 0
      for (const { frame, keyedMs } of handed.values())
        if (frame.priority !== 'answer') sumMs += keyedMs
      return sumMs
    },
    acknowledgementShare(nowMs) {
      while (acknowledged[0] !== undefined && nowMs - acknowledged[0].atMs > lately)
        acknowledged.shift()
      return acknowledged.reduce((sum, { airtimeMs }) => sum + airtimeMs, 0) / lately
    },
    get paceShare() {
      return measured.share
    },
  }
}
