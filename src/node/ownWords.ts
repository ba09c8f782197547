import type { Clock } from '../runtime/clock.js'
import { setNewest } from '../runtime/setNewest.js'
import { rateLimit } from './rateLimit.js'
import type { Transmitter } from './transmitter.js'

/** What we said to each station lately, by which a station is known that only says it again: an echo. */
export interface OwnWords {
  /** The same transmitter; messages that are sent through it are noted. */
  tap(transmitter: Transmitter): Transmitter
  /** true for a text that we sent to this station within the hour, or that quotes one */
  isEcho(from: string, text: string): boolean
  /** A question may be what we wrote as an example. @returns false where this text was excused within the hour */
  excuse(from: string, text: string): boolean
}

const rememberedMs = 3_600_000
const textsMax = 12
const stationsMax = 1_000
/** A shorter text of ours may stand in somebody's own by chance. */
const quotedMin = 8

export function ownWords(clock: Clock): OwnWords {
  const byStation = new Map<string, { readonly text: string; readonly atMs: number }[]>()
  const excused = rateLimit(rememberedMs)

  const note = (station: string, text: string): void => {
    const atMs = clock.monotonicMs()
    const known = (byStation.get(station) ?? []).filter((one) => one.text !== text)
    setNewest(byStation, station, [...known, { text, atMs }].slice(-textsMax), stationsMax)
  }

  return {
    tap: (transmitter) => ({
      ...transmitter,
      send(outgoing) {
        const { station, text, priority } = outgoing
        if (station !== undefined && priority !== 'acknowledgement') note(station, bare(text))
        return transmitter.send(outgoing)
      },
    }),
    isEcho(from, text) {
      const heard = bare(text)
      const nowMs = clock.monotonicMs()
      return (byStation.get(from) ?? []).some(
        (one) =>
          nowMs - one.atMs <= rememberedMs &&
          one.text.length >= quotedMin &&
          heard.includes(one.text),
      )
    },
    excuse: (from, text) => excused.note(`${from} ${bare(text)}`, clock.monotonicMs()) === 1,
  }
}

const bare = (text: string): string => text.trim().toLowerCase()
