import { lossJournal } from '../../node/lossJournal.js'
import type { RadioCore } from '../../radio/radioCore.js'
import { every } from '../../runtime/clock.js'
import { seededRandom } from '../../runtime/random.js'
import { type VirtualClock, virtualClock } from '../../runtime/virtualClock.js'
import { createAir } from '../../simulation/air.js'
import { airStation } from '../../simulation/airStation.js'
import { type HandHeld, handHeld } from '../../simulation/handHeld.js'
import type { Story } from '../../simulation/story.js'
import type { NodeEvent } from '../../store/events.js'
import type { TryIt } from '../../web/parts.js'
import type { TryState } from '../../web/schemas.js'
import { openStoryNode, type StoryNode } from './storyNode.js'

/** A scenario that goes on and on, for somebody to look at and to take part in. */
export interface Valley extends Pick<StoryNode, 'core' | 'node' | 'store' | 'config'> {
  readonly clock: VirtualClock
  /** the radio of the first station */
  readonly own: RadioCore
  /** the first station's hand-held, held by whoever looks */
  readonly tryIt: TryIt
  close(): Promise<void>
}

export interface ValleyOptions {
  readonly story: Story
  /** of the scenario */
  readonly folder: string
  /** what its clocks say at the beginning */
  readonly startWallMs: number
  readonly onEvent: (event: NodeEvent) => void
  /** false: nobody sends but whoever looks */
  readonly isBusy?: boolean
}

interface Person {
  readonly call: string
  readonly radio: HandHeld
}

/** Real modulators, FM, noise, receivers, node, services and database, on a virtual clock that the caller moves. */
export async function openValley(options: ValleyOptions): Promise<Valley> {
  const { story, folder, isBusy = true } = options
  const clock = virtualClock(options.startWallMs)
  const own = story.station[0]!
  let ownCnrDb = own.cnrDb
  const cnrOf = (call: string): number => {
    if (call === story.node.call) return Number.POSITIVE_INFINITY
    if (call === own.call) return ownCnrDb
    return story.station.find((station) => station.call === call)?.cnrDb ?? -50
  }
  const air = createAir({
    ...{ clock, random: seededRandom(story.seed + 1) },
    pathCnrDb: (from, to) => Math.min(cnrOf(from), cnrOf(to)),
  })
  const storyNode = await openStoryNode({ story, folder, air, clock, onEvent: options.onEvent })
  const random = seededRandom(story.seed)
  const cores = story.station.map(({ call }) =>
    airStation({ air, clock, random, call, repair: 'careful' }),
  )
  const people: Person[] = cores.map((port) => {
    const nodeCall = story.node.call
    return {
      call: port.name,
      radio: handHeld({ port, clock, random, call: port.name, nodeCall, path: [] }),
    }
  })
  for (const core of [storyNode.core, ...cores]) core.start()
  storyNode.node.start()
  const { store: kept } = storyNode
  lossJournal({ ports: [storyNode.core], store: kept, clock, looksAlways: false })
  if (isBusy) bookAgainAndAgain(story, clock, people)
  const { core, node, store, config } = storyNode
  return {
    ...{ core, node, store, config, clock, own: cores[0]! },
    tryIt: createTryIt({
      ...{ clock, radio: people[0]!.radio, nodeCall: story.node.call },
      cnrDb: () => ownCnrDb,
      setNoise: (cnrDb) => {
        ownCnrDb = cnrDb
      },
    }),
    async close() {
      air.close()
      await storyNode.stop()
    },
  }
}

function bookAgainAndAgain(story: Story, clock: VirtualClock, people: readonly Person[]): void {
  const book = (startMs: number): void => {
    for (const { atS, station, text, payload, typed } of story.send) {
      // Nobody has a laptop here.
      if (typed !== undefined) continue
      const { radio } = people.find(({ call }) => call === station)!
      const place = story.station.find(({ call }) => call === station)!
      clock.at(startMs + atS * 1000, () => {
        if (text !== undefined) radio.send(text)
        else if (payload !== undefined) radio.sendPayload(Buffer.from(payload, 'latin1'))
        else radio.sendPosition(place.latitudeDeg, place.longitudeDeg)
      })
    }
    const againMs = startMs + story.endS * 1000
    clock.at(againMs, () => book(againMs))
  }
  book(clock.monotonicMs())
}

const lookMs = 200
const keptMax = 20

/** A hand-held as somebody sees it who holds it. */
function createTryIt(parts: {
  readonly clock: VirtualClock
  readonly radio: HandHeld
  readonly nodeCall: string
  readonly cnrDb: () => number
  readonly setNoise: (cnrDb: number) => void
}): TryIt {
  const { clock, radio, nodeCall } = parts
  const wallOf = (atMs: number): number => clock.wallMs() - (clock.monotonicMs() - atMs)
  const state = (): TryState => ({
    ...{ call: radio.call, nodeCall, cnrDb: parts.cnrDb() },
    sent: radio.sent.slice(-keptMax).map(({ startedMs, ...rest }) => ({
      ...rest,
      startedWallMs: wallOf(startedMs),
    })),
    shown: radio.shown.slice(-keptMax).map(({ text, atMs, count }) => ({
      ...{ text, count, atWallMs: wallOf(atMs) },
    })),
  })
  return {
    state,
    send: (text) => void radio.send(text),
    setNoise: parts.setNoise,
    onChange(listener) {
      let told = ''
      every(clock, lookMs, () => {
        const present = JSON.stringify(state())
        if (present === told) return
        told = present
        listener()
      })
    },
  }
}
