import { getHeapCodeStatistics } from 'node:v8'
import { type Random, seededRandom } from '../../../src/runtime/random.js'
import { mutate } from './mutate.js'

/** Something that takes octets of strangers. */
export interface Target {
  readonly name: string
  readonly seeds: readonly Uint8Array[]
  /** words of its format */
  readonly words: readonly string[]
  /** in place of `mutate` */
  readonly mutate?: (input: Uint8Array, other: Uint8Array, random: Random) => Uint8Array
  /** Whatever it throws is a finding. */
  run(input: Uint8Array): void | Promise<void>
  /** Runs now and then, and at the end. Throws where something that was promised does not hold. */
  check?(): Promise<void>
  /** of all runs, so many got to where they matter */
  readonly reachedCount?: number
}

export interface Finding {
  readonly what: string
  readonly input: Uint8Array
}

export interface FuzzResult {
  readonly runs: number
  readonly seconds: number
  /** of the processor: what a busy machine does not change */
  readonly cpuSeconds: number
  readonly findings: readonly Finding[]
  readonly longestMs: number
  readonly corpus: readonly Uint8Array[]
  readonly heapGrownBytes: number
  /** inputs of the corpus that took an arm that none before them took */
  readonly telling: readonly Uint8Array[]
  /** whether any run took this arm */
  isTaken(arm: number): boolean
}

export interface FuzzOptions {
  readonly runs: number
  readonly seed: number
  /** stop then, however many runs there were; s */
  readonly secondsMax?: number
  /** counters of the arms, an even number; without them every mutation starts from the seeds */
  readonly arms?: Uint16Array | undefined
  /** forces a collection */
  readonly collect?: (() => void) | undefined
  readonly corpus?: readonly Uint8Array[]
  readonly checkEvery?: number
  /** told of at each check, about once in 20,000 runs */
  readonly onProgress?: (runs: number, findings: number, seconds: number) => void
}

const hangMs = 1_000
const corpusMax = 3_000
const findingsMax = 20
/** Caches and tables are full by then: memory is compared from there on. */
const warmUpShare = 0.3
/** Room for inputs that are kept, made at the start: they are no memory of what is tried. Octets. */
const keptOctetsMax = 2_000_000

/** Mutates inputs, keeps those that take new arms, and tells what was thrown or took too long. */
export async function fuzz(target: Target, options: FuzzOptions): Promise<FuzzResult> {
  const random = seededRandom(options.seed)
  const { arms, runs, checkEvery = 20_000 } = options
  const seenArms = arms && armsSeen(arms)
  const corpus = [...target.seeds, ...(options.corpus ?? [])]
  const kept = roomForKept()
  const telling: Uint8Array[] = []
  const findings = new Map<string, Finding>()
  let longestMs = 0
  // asked for each run, it would cost a parser a quarter of the time
  let lookedCpu = process.cpuUsage()
  let heapBefore = 0
  const note = (what: string, input: Uint8Array): void => {
    const known = findings.get(what)
    if (known === undefined ? findings.size < findingsMax : known.input.length > input.length)
      findings.set(what, { what, input: Uint8Array.from(input) })
  }
  const once = async (input: Uint8Array): Promise<void> => {
    const startMs = performance.now()
    try {
      const running = target.run(input)
      if (running !== undefined) await running
    } catch (error) {
      note(errorOf(error), input)
    }
    const tookMs = performance.now() - startMs
    if (tookMs <= longestMs) return
    // On a busy machine only what it has used itself counts, with the few runs before it since the last look.
    const { user, system } = process.cpuUsage(lookedCpu)
    longestMs = Math.max(longestMs, Math.min(tookMs, (user + system) / 1000))
    if (Math.min(tookMs, (user + system) / 1000) > hangMs) note('longer than a second', input)
  }
  const look = (input: Uint8Array): void => {
    const seen = seenArms?.novelty()
    if (seen === undefined || seen === 'nothing') return
    if (seen !== 'arm' && corpus.length >= corpusMax) return
    const copy = kept(input)
    if (seen === 'arm') telling.push(copy)
    if (corpus.length < corpusMax) corpus.push(copy)
  }
  const check = async (): Promise<void> => {
    try {
      await target.check?.()
    } catch (error) {
      note(`afterwards: ${errorOf(error)}`, new Uint8Array())
    }
    seenArms?.novelty()
  }
  for (const input of [...corpus]) {
    await once(input)
    look(input)
  }
  const startMs = performance.now()
  const startCpu = process.cpuUsage()
  let run = 0
  for (; run < runs; run++) {
    if (run % 100 === 0) {
      if (performance.now() - startMs > (options.secondsMax ?? Infinity) * 1000) break
      lookedCpu = process.cpuUsage()
    }
    const input = changed(target, corpus, random)
    await once(input)
    look(input)
    if (run % checkEvery === checkEvery - 1) {
      await check()
      options.onProgress?.(run + 1, findings.size, (performance.now() - startMs) / 1000)
    }
    if (heapBefore === 0 && isWarm(run, performance.now() - startMs, options))
      heapBefore = heapNow(options.collect)
  }
  await check()
  const seconds = (performance.now() - startMs) / 1000
  const { user, system } = process.cpuUsage(startCpu)
  return {
    ...{
      runs: run,
      seconds,
      cpuSeconds: (user + system) / 1e6,
      longestMs,
      corpus,
      telling,
      findings: [...findings.values()],
    },
    heapGrownBytes: heapNow(options.collect) - heapBefore,
    isTaken: (arm) => seenArms?.isTaken(arm) ?? false,
  }
}

/** @returns copies; those that find no room are by themselves */
function roomForKept(): (input: Uint8Array) => Uint8Array {
  const room = new Uint8Array(keptOctetsMax)
  let end = 0
  return (input) => {
    if (end + input.length > room.length) return Uint8Array.from(input)
    const copy = room.subarray(end, end + input.length)
    copy.set(input)
    end += input.length
    return copy
  }
}

const isWarm = (
  run: number,
  elapsedMs: number,
  { runs, secondsMax = Infinity }: FuzzOptions,
): boolean => run >= warmUpShare * runs || elapsedMs >= warmUpShare * secondsMax * 1000

function changed(target: Target, corpus: readonly Uint8Array[], random: Random): Uint8Array {
  // the newest are the least tried
  const at = random() < 0.5 ? random() : 1 - random() ** 3
  const input = corpus[Math.min(corpus.length - 1, Math.floor(at * corpus.length))]!
  const other = corpus[Math.floor(random() * corpus.length)]!
  return (
    target.mutate?.(input, other, random) ?? mutate(input, { random, words: target.words, other })
  )
}

interface ArmsSeen {
  /** whether the last run took an arm for the first time, or an arm more often than before; counts begin anew then */
  novelty(): 'arm' | 'count' | 'nothing'
  /** by any run so far */
  isTaken(arm: number): boolean
}

/** @param arms an even number of counters */
function armsSeen(arms: Uint16Array): ArmsSeen {
  const seen = new Uint16Array(arms.length)
  // Most are zero after a run: they are looked at two at a time.
  const pairs = new Uint32Array(arms.buffer, arms.byteOffset, arms.length / 2)
  return {
    novelty() {
      let found: 'arm' | 'count' | 'nothing' = 'nothing'
      for (let pair = 0; pair < pairs.length; pair++) {
        if (pairs[pair] === 0) continue
        for (const arm of [2 * pair, 2 * pair + 1]) {
          const count = arms[arm]!
          const bucket = count === 0 ? 0 : 1 << Math.min(9, 32 - Math.clz32(count))
          if ((seen[arm]! & bucket) === bucket) continue
          if (seen[arm] === 0) found = 'arm'
          else if (found === 'nothing') found = 'count'
          seen[arm]! |= bucket
        }
        pairs[pair] = 0
      }
      return found
    },
    isTaken: (arm) => seen[arm] !== 0,
  }
}

/** What it is, and where it was thrown. */
function errorOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error)
  const lines = (error.stack ?? '').split('\n').filter((line) => /^\s+at /.test(line))
  return `${error.name}: ${error.message.slice(0, 200)} ${lines[0]?.trim() ?? ''}`
}

/** Without code, which is compiled as it is reached: there is no more of it than the program's own. */
function heapNow(collect: (() => void) | undefined): number {
  collect?.()
  collect?.()
  const { heapUsed, external } = process.memoryUsage()
  const code = getHeapCodeStatistics()
  return heapUsed + external - code.code_and_metadata_size - code.bytecode_and_metadata_size
}
