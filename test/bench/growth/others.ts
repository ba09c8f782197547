import { seededRandom } from '../../../src/runtime/random.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { cardIndex } from '../../../src/services/cards/cardIndex.js'
import { findService } from '../../../src/services/find.js'
import { repeaterIndex } from '../../../src/services/repeaters/directory.js'
import { parseRepeaters } from '../../../src/services/repeaters/parseRepeaters.js'
import { repeatersService } from '../../../src/services/repeaters.js'
import type { Service } from '../../../src/services/service.js'
import { openStore } from '../../../src/store/store.js'
import { runAskers } from '../../simulation/askers.js'
import type { BenchOptions } from '../bench.js'
import { costOfDecoding } from '../decode.js'
import type { Figures } from '../growth.js'
import { cardOf, contextAt, cpuMs, directoryText } from '../services.js'

const minuteMs = 60_000

/** A recording of so many minutes, 8 kHz and 8 bit, ten packets a minute. */
export async function ofRecordings(minutes: number, { seed }: BenchOptions): Promise<Figures> {
  const subject = { name: 'mono', minutes, sampleRateHz: 8_000, channelCount: 1 }
  const { frames, cpuS, maxRssKb } = await costOfDecoding({ ...subject, sampleFormat: 'u8' }, seed)
  return { frames, 'CPU s': cpuS, 'most memory MB': maxRssKb / 1024 }
}

/** Directories of repeaters and cards with so many rows. */
export async function ofLists(count: number, { seed }: BenchOptions): Promise<Figures> {
  const random = seededRandom(seed)
  const text = directoryText(random, count)
  const beforeMs = cpuMs()
  const parsed = parseRepeaters(text)
  if (!parsed.ok) throw new Error(parsed.got)
  const directory = repeaterIndex(parsed.entries)
  const repeatersMs = cpuMs() - beforeMs
  const written = Array.from({ length: count }, (_, at) => cardOf(at, random))
  const beforeCardsMs = cpuMs()
  const cards = cardIndex(written)
  const cardsMs = cpuMs() - beforeCardsMs
  const store = openStore({ file: ':memory:', clock: virtualClock() })
  const answerMs = async (service: Service, rest: string): Promise<number> => {
    const words = rest.split(' ')
    const question = { id: 'bench', from: 'N0CALL-7', text: rest, rest, words }
    const context = contextAt(store, random)
    const times = 20
    const startMs = cpuMs()
    for (let time = 0; time < times; time++) await service.answer(question, context)
    return (cpuMs() - startMs) / times
  }
  const repeaters = repeatersService({
    ...{ directory: () => directory, positionAgeMaxMs: 720 * minuteMs, rangeM: 20_100_000 },
  })
  const figures = {
    'repeaters load ms': repeatersMs,
    'repeaters 10 ms': await answerMs(repeaters, '10 70cm'),
    'cards load ms': cardsMs,
    'find ms': await answerMs(findService({ cards: () => cards }), 'word7'),
  }
  store.close()
  return figures
}

/** So many who ask once, and neither acknowledge nor repeat. */
export async function ofAskers(askerCount: number, { seed }: BenchOptions): Promise<Figures> {
  const beforeMs = cpuMs()
  const times = { withinMs: 10 * minuteMs, lastsMs: 25 * minuteMs }
  const { wholeCount, frameCount } = await runAskers({ seed, askerCount, ...times })
  return { answered: wholeCount, frames: frameCount, 'CPU s': (cpuMs() - beforeMs) / 1000 }
}
