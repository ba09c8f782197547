import { open } from 'node:fs/promises'
import { programOutput } from '../../devices/programOutput.js'
import type { Waits } from '../../devices/reopening.js'
import { readSerialLines } from '../../devices/serialReader.js'
import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { decodeText } from '../data/decodeText.js'
import type { WeatherField, WeatherFigures } from './plausible.js'
import { type ParsedReading, parseReading, type WeatherReading } from './reading.js'
import type { TransducerFields } from './sentences.js'

export type InstrumentOptions =
  | { readonly kind: 'none' }
  /** a file that something else keeps writing */
  | { readonly kind: 'file'; readonly path: string }
  /** a command whose output is read */
  | {
      readonly kind: 'command'
      readonly command: string
      readonly arguments: readonly string[]
      readonly timeLimitMs: number
    }
  /** an instrument that sends lines by itself */
  | { readonly kind: 'serial'; readonly path: string; readonly lineBitRate: number }

/** A weather instrument at the node. */
export interface Instrument {
  /** undefined when it says nothing; never rejects */
  read(): Promise<WeatherReading | undefined>
  close(): Promise<void>
}

export interface InstrumentEdges {
  readonly clock: Clock
  readonly onFault: (reason: string) => void
  /** something that the instrument says is not used; each is told once */
  readonly onRemark: (text: string) => void
  /** names of its XDR sentences */
  readonly transducers: TransducerFields
}

export function openInstrument(options: InstrumentOptions, outer: InstrumentEdges): Instrument {
  const edges = { ...outer, take: taker(outer) }
  switch (options.kind) {
    case 'file':
      return fileInstrument(options.path, edges)
    case 'command':
      return commandInstrument(options, edges)
    case 'serial':
      return serialInstrument(options, edges)
    case 'none':
      return { read: async () => undefined, close: async () => {} }
  }
}

interface Edges extends InstrumentEdges {
  /** Reads what the instrument wrote; what is not used is told once. */
  take(text: string): ParsedReading
}

/** Remarks of a broken instrument have an end. */
const remarksMax = 60

function taker({ transducers, onRemark }: InstrumentEdges): Edges['take'] {
  const told = new Set<string>()
  const tell = (key: string, text: string): void => {
    if (told.has(key) || told.size >= remarksMax) return
    told.add(key)
    onRemark(text)
  }
  return (text) => {
    const parsed = parseReading(text, transducers)
    for (const name of parsed.unknown)
      tell(name, `the instrument's "${name}" is not known: not used; README lists the names`)
    for (const field of parsed.outside)
      tell(`\0${field}`, `the instrument's ${field} is nothing that weather can be: not used`)
    return parsed
  }
}

/** Instruments that write all day make long files: the end has the newest. */
const octetsMax = 16_384

function fileInstrument(path: string, { onFault, take, clock }: Edges): Instrument {
  return {
    async read() {
      try {
        const file = await open(path)
        try {
          const { size, mtimeMs } = await file.stat()
          const length = Math.min(size, octetsMax)
          const { buffer } = await file.read(Buffer.alloc(length), 0, length, size - length)
          return readingOf(take(decodeText(buffer)), mtimeMs, clock.wallMs())
        } finally {
          await file.close()
        }
      } catch (error) {
        onFault(`weather file ${path}: ${errorText(error)}`)
        return undefined
      }
    },
    close: async () => {},
  }
}

/** Several who ask at once are answered by one run. */
const commandEveryMs = 30_000

function commandInstrument(
  options: Extract<InstrumentOptions, { kind: 'command' }>,
  { clock, onFault, take }: Edges,
): Instrument {
  let last:
    | { readonly atMs: number; readonly reading: Promise<WeatherReading | undefined> }
    | undefined
  const words = [options.command, ...options.arguments]
  const run = async (): Promise<WeatherReading | undefined> => {
    try {
      const output = await programOutput(words, { timeLimitMs: options.timeLimitMs, octetsMax })
      return readingOf(take(output), clock.wallMs(), clock.wallMs())
    } catch (error) {
      onFault(`weather command ${options.command}: ${errorText(error)}`)
      return undefined
    }
  }
  return {
    read() {
      const nowMs = clock.monotonicMs()
      if (last === undefined || nowMs - last.atMs >= commandEveryMs)
        last = { atMs: nowMs, reading: run() }
      return last.reading
    },
    close: async () => {},
  }
}

const waits: Waits = { first: 10_000, longest: 10_000 }

/** Lines come when the instrument likes; each figure is kept until a newer one comes. */
function serialInstrument(
  options: Extract<InstrumentOptions, { kind: 'serial' }>,
  { clock, onFault, take }: Edges,
): Instrument {
  const figures = new Map<WeatherField, { readonly value: number; readonly atWallMs: number }>()
  const takeLine = (line: string): void => {
    const atWallMs = clock.wallMs()
    for (const [field, value] of Object.entries(take(line).figures))
      figures.set(field as WeatherField, { value: value as number, atWallMs })
  }
  const close = readSerialLines({
    ...{ device: options.path, bitRate: options.lineBitRate, clock, waits },
    onLine: takeLine,
    onLost: (reason) => onFault(`weather instrument ${options.path}: ${reason}`),
  })
  return {
    async read() {
      const newestMs = Math.max(...[...figures.values()].map((one) => one.atWallMs))
      // A sensor that fell silent must not look as fresh as the others.
      const young = [...figures].filter(([, one]) => newestMs - one.atWallMs <= staleMs)
      return said(Object.fromEntries(young.map(([field, one]) => [field, one.value])), newestMs)
    },
    close,
  }
}

const staleMs = 5 * 60_000

/** Clocks differ a little; what was measured later than this is from a wrong clock. */
const aheadMaxMs = 5 * 60_000

/** With the time that the text gives, else with the one when it was written. */
function readingOf(
  { figures, atWallMs }: ParsedReading,
  writtenWallMs: number,
  nowWallMs: number,
): WeatherReading | undefined {
  const isPast = atWallMs !== undefined && atWallMs <= nowWallMs + aheadMaxMs
  return said(figures, isPast ? atWallMs : writtenWallMs)
}

/** A reading without any figure is none. */
const said = (figures: WeatherFigures, atWallMs: number): WeatherReading | undefined =>
  Object.keys(figures).length === 0 ? undefined : { atWallMs, figures }
