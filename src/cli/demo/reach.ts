import { formatAddress } from '../../ax25/address.js'
import { decodeFrame } from '../../ax25/frame.js'
import { copyKey } from '../../node/copies.js'
import { frameTimesMs } from '../../simulation/frameTimes.js'
import type { Story } from '../../simulation/story.js'
import type { DemoEnd } from './demoWorld.js'

/** Who of the stations got what the others sent to everybody, and what of the channel's time that took. */
export interface Reach {
  /** pairs of a frame and a station that is not its sender */
  readonly pairCount: number
  /** of those, pairs where the station heard it, directly or repeated */
  readonly reachedCount: number
  /** what all of them together were on the air, key delay and tail included */
  readonly onAirMs: number
  readonly lastsMs: number
}

/** Time around a frame that its radio is keyed, as the simulated stations have it: key delay and tail. */
const aroundMs = { preambleMs: 300, tailMs: 50 }

export function reachOf(story: Story, { sent, lastsMs }: DemoEnd): Reach {
  const calls = story.station.map(({ call }) => call)
  const heard = new Map<string, { readonly author: string; readonly by: Set<string> }>()
  let onAirMs = 0
  for (const { octets, heardBy } of sent) {
    onAirMs += frameTimesMs({ kind: 'frames', frames: [octets], ...aroundMs })
    const decoded = decodeFrame(octets)
    if (!decoded.ok) continue
    const author = formatAddress(decoded.frame.source)
    if (!calls.includes(author)) continue
    const key = copyKey(decoded.frame)
    const one = heard.get(key) ?? { author, by: new Set() }
    for (const call of heardBy.keys()) one.by.add(call)
    heard.set(key, one)
  }
  const pairs = [...heard.values()].flatMap(({ author, by }) =>
    calls.filter((call) => call !== author).map((call) => by.has(call)),
  )
  return {
    pairCount: pairs.length,
    reachedCount: pairs.filter((isReached) => isReached).length,
    ...{ onAirMs, lastsMs },
  }
}

/** Both, side by side, for a person. */
export function compareReach(without: Reach, with_: Reach): string {
  // Of the same time: a story ends as soon as nobody has anything left to send.
  const lastsMs = Math.max(without.lastsMs, with_.lastsMs)
  const line = (name: string, { reachedCount, pairCount, onAirMs }: Reach): string => {
    const load = `${(onAirMs / 1000).toFixed(1)} s, ${((100 * onAirMs) / lastsMs).toFixed(0)} %`
    return `  ${name.padEnd(36)}${`${reachedCount} of ${pairCount}`.padStart(10)}${load.padStart(17)}`
  }
  return [
    `${'Each frame, to each station but its sender'.padEnd(38)}${'heard'.padStart(10)}${'channel in use'.padStart(17)}`,
    line('without the digipeater', without),
    line('with it', with_),
    '',
  ].join('\n')
}
