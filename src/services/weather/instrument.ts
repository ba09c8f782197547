import { execFile } from 'node:child_process'
import { open } from 'node:fs/promises'
import { ReadlineParser, SerialPort } from 'serialport'
import { createReopening, type Waits } from '../../devices/reopening.js'
import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import {
  parseReading,
  type WeatherField,
  type WeatherFigures,
  type WeatherReading,
} from './reading.js'

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
  | { readonly kind: 'serial'; readonly path: string; readonly baudRate: number }

/** A weather instrument at the node. */
export interface Instrument {
  /** undefined when it says nothing; never rejects */
  read(): Promise<WeatherReading | undefined>
  close(): Promise<void>
}

export interface InstrumentEdges {
  readonly clock: Clock
  readonly onFault: (reason: string) => void
}

export function openInstrument(options: InstrumentOptions, edges: InstrumentEdges): Instrument {
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

/** Instruments that write all day make long files: the end has the newest. */
const octetsMax = 16_384

function fileInstrument(path: string, { onFault }: InstrumentEdges): Instrument {
  return {
    async read() {
      try {
        const file = await open(path)
        try {
          const { size, mtimeMs } = await file.stat()
          const length = Math.min(size, octetsMax)
          const { buffer } = await file.read(Buffer.alloc(length), 0, length, size - length)
          return readingOf(parseReading(buffer.toString('latin1')), mtimeMs)
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
  { clock, onFault }: InstrumentEdges,
): Instrument {
  let last:
    | { readonly atMs: number; readonly reading: Promise<WeatherReading | undefined> }
    | undefined
  const run = (): Promise<WeatherReading | undefined> =>
    new Promise((resolve) => {
      const limits = {
        timeout: options.timeLimitMs,
        maxBuffer: octetsMax,
        killSignal: 'SIGKILL' as const,
      }
      execFile(options.command, [...options.arguments], limits, (error, output) => {
        if (error) {
          onFault(
            `weather command ${options.command}: ${error.killed ? 'took too long' : errorText(error)}`,
          )
          resolve(undefined)
        } else resolve(readingOf(parseReading(output), clock.wallMs()))
      })
    })
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

const reopenMs: Waits = { first: 10_000, longest: 10_000 }

/** Lines come when the instrument likes; each figure is kept until a newer one comes. */
function serialInstrument(
  options: Extract<InstrumentOptions, { kind: 'serial' }>,
  { clock, onFault }: InstrumentEdges,
): Instrument {
  const figures = new Map<WeatherField, { readonly value: number; readonly atWallMs: number }>()
  let port: SerialPort | undefined
  let closed = false
  const reopenLater = (reason: string): void => {
    if (closed || port === undefined) return
    port = undefined
    onFault(`weather instrument ${options.path}: ${reason}`)
    reopening.later()
  }
  const takeLine = (line: string): void => {
    const atWallMs = clock.wallMs()
    for (const [field, value] of Object.entries(parseReading(line)))
      figures.set(field as WeatherField, { value: value as number, atWallMs })
  }
  const openPort = (): void => {
    const { path, baudRate } = options
    const opened = new SerialPort({ path, baudRate }, (error) => {
      if (error) reopenLater(errorText(error))
    })
    port = opened
    opened.on('error', (error) => port === opened && reopenLater(errorText(error)))
    opened.on('close', () => port === opened && reopenLater('it was unplugged'))
    opened.pipe(new ReadlineParser({ delimiter: '\n', encoding: 'latin1' })).on('data', takeLine)
  }
  const reopening = createReopening(clock, reopenMs, openPort)
  openPort()
  return {
    async read() {
      const newestMs = Math.max(...[...figures.values()].map((one) => one.atWallMs))
      // A sensor that fell silent must not look as fresh as the others.
      const young = [...figures].filter(([, one]) => newestMs - one.atWallMs <= staleMs)
      return readingOf(
        Object.fromEntries(young.map(([field, one]) => [field, one.value])),
        newestMs,
      )
    },
    async close() {
      closed = true
      reopening.cancel()
      const open = port
      port = undefined
      if (open?.isOpen) await new Promise<void>((resolve) => open.close(() => resolve()))
    },
  }
}

const staleMs = 5 * 60_000

const readingOf = (figures: WeatherFigures, atWallMs: number): WeatherReading | undefined =>
  Object.keys(figures).length === 0 ? undefined : { atWallMs, figures }
