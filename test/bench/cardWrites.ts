import { join } from 'node:path'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { createNode } from '../../src/node/node.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { openStore } from '../../src/store/store.js'
import { echoService, TestPort } from '../node/testNode.js'
import type { Bench } from './bench.js'
import { type CardFolder, cardFolder } from './store/cardFolder.js'
import { traffic } from './store/traffic.js'

const hourMs = 3_600_000
/**
 * The kernel writes back what is older than 30 s, looking each 5 s. Asked to, it writes 20.5 kB for a block in place; by itself
 * it wrote 20.8 (12 of them in eight minutes), with a message that is synced beside it 62.
 */
const settleEveryMs = 35_000
const framesEveryMs = 12_000

/** What a node writes to its card while it listens and while it is asked: the real node and store on a real file system. */
export const bench: Bench = {
  name: 'card-writes',
  about: 'megabytes an hour at the block device: a frame in 12 s, and questions besides',
  async run({ seed, quick }) {
    // what was heard goes into the tables once a day
    const hours = 48
    const card = cardFolder()
    try {
      console.log(`counted: ${card.counted}; ${hours} hours of a virtual clock each\n`)
      console.log(
        'flush s  stations  questions an hour  MB an hour  GB in 180 days  kB a frame  syncs an hour',
      )
      const settings = [
        [30, 40, 0],
        [30, 400, 0],
        [30, 40, 6],
        ...(quick ? [] : [[1, 40, 0] as const, [60, 40, 0] as const]),
      ] as const
      for (const [flushS, stationCount, questionsAnHour] of settings) {
        const figures = await writes(card, { flushS, stationCount, questionsAnHour, hours, seed })
        console.log(
          `${String(flushS).padStart(7)}${String(stationCount).padStart(10)}${String(questionsAnHour).padStart(19)}` +
            `${(figures.bytes / 1e6 / hours).toFixed(2).padStart(12)}${((figures.bytes / 1e9 / hours) * 180 * 24).toFixed(1).padStart(16)}${(figures.bytes / 1e3 / figures.frames).toFixed(1).padStart(12)}` +
            `${(figures.durable / hours).toFixed(0).padStart(15)}`,
        )
      }
    } finally {
      card.remove()
    }
  },
}

interface Run {
  readonly flushS: number
  readonly stationCount: number
  readonly questionsAnHour: number
  readonly hours: number
  readonly seed: number
}

async function writes(
  card: CardFolder,
  run: Run,
): Promise<{ bytes: number; frames: number; durable: number }> {
  const random = seededRandom(run.seed)
  const clock = virtualClock()
  const file = join(
    card.folder,
    `${run.flushS}-${run.stationCount}-${run.questionsAnHour}`,
    'node.db',
  )
  const store = openStore({ file, clock, flushIntervalMs: run.flushS * 1000 })
  const port = new TestPort(clock)
  let id = 0
  const node = createNode({
    ports: [port],
    clock,
    random,
    nextId: () => `r${++id}`,
    store,
    services: [echoService],
    options: defaultNodeOptions({ call: 'N0DE-10' }),
  })
  node.start()
  const heard = traffic(run.stationCount, random)
  const hear = (line: string, quality?: ReturnType<typeof heard>['quality']): void => {
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
    port.hear(encodeFrame(parsed.frame), 0, quality)
  }

  // A fortnight behind it, so that each station has pages of its own in the indexes.
  for (let count = 0; count < 100_000; count++) {
    const { line, quality } = heard()
    hear(line, quality)
    if (count % 5_000 === 0) store.flush()
    clock.advanceTo(clock.monotonicMs() + 1)
  }
  store.flush()
  await clock.advanceToAsync(clock.monotonicMs() + 2 * hourMs)
  card.settle()

  const begun = clock.monotonicMs()
  const end = begun + run.hours * hourMs
  const durableBefore = store.state().counters.durableCount
  const bytesBefore = card.writtenBytes()
  let frames = 0
  // So many in all, each at a moment that knows nothing of the others: how often is what is asked about, not a draw.
  const arrivals = (meanMs: number, arrive: () => void): void => {
    const count = Math.round((end - begun) / meanMs)
    const moments = Array.from({ length: count }, () => begun + random() * (end - begun))
    moments.sort((one, other) => other - one)
    const next = (): void => {
      const at = moments.pop()
      if (at === undefined) return
      clock.at(at, () => {
        arrive()
        next()
      })
    }
    next()
  }
  arrivals(framesEveryMs, () => {
    frames++
    const { line, quality } = heard()
    hear(line, quality)
  })
  let question = 0
  if (run.questionsAnHour > 0)
    arrivals(hourMs / run.questionsAnHour, () => {
      const number = ++question
      hear(`Q1ASK-7>APZ001::N0DE-10  :echo ${number}{${number}`)
      clock.at(clock.monotonicMs() + 5_000, () => acknowledge(port, hear))
    })
  for (let at = begun; at < end; at += settleEveryMs) {
    await clock.advanceToAsync(Math.min(end, at + settleEveryMs))
    card.settle()
  }
  const bytes = card.writtenBytes() - bytesBefore
  const durable = store.state().counters.durableCount - durableBefore
  node.stop()
  store.close()
  return { bytes, frames, durable }
}

function acknowledge(port: TestPort, hear: (line: string) => void): void {
  for (const { line } of port.sent.splice(0)) {
    const number = /:Q1ASK-7 +:.*\{([^}]+)/.exec(line)?.[1]
    if (number !== undefined) hear(`Q1ASK-7>APZ001::N0DE-10  :ack${number}`)
  }
}
