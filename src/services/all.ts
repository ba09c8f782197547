import type { Clock } from '../runtime/clock.js'
import { type LiveData, liveData } from './data/liveData.js'
import { describeRejected, type Loaded } from './data/rejected.js'
import { helpService } from './help.js'
import { loadRepeaters, type RepeaterDirectory } from './repeaters/directory.js'
import type { RepeaterColumns } from './repeaters/parseRepeaters.js'
import { repeatersService } from './repeaters.js'
import type { Service } from './service.js'

export interface ServicesOptions {
  readonly clock: Clock
  /** keywords that are not offered */
  readonly off: readonly string[]
  /** an asker's older position is not used */
  readonly positionAgeMaxMs: number
  readonly repeaters: {
    /** '' for none */
    readonly file: string
    readonly columns: RepeaterColumns
    readonly rangeM: number
  }
  readonly onEvent: (event: ServiceEvent) => void
}

/** What happened to a service's data. */
export type ServiceEvent =
  | {
      readonly kind: 'loaded'
      readonly what: string
      readonly file: string
      readonly count: number
      readonly rejectedCount: number
      /** the rows left out, a line each, such as `repeaters.csv:14: latitude: got "91.2", expected …` */
      readonly rejected: readonly string[]
    }
  | {
      readonly kind: 'fault'
      readonly what: string
      readonly file: string
      readonly reason: string
    }

export interface OpenServices {
  /** one array for all its life; own services come and go in it */
  readonly services: readonly Service[]
  /** settles when all data was loaded for the first time, well or not */
  readonly ready: Promise<void>
  close(): Promise<void>
}

/** Builds the services, loads their data, and keeps the data up to date while it is open. */
export function createServices(options: ServicesOptions): OpenServices {
  const sources: LiveData<unknown>[] = []
  const open = <T extends Loaded<unknown>>(
    what: string,
    path: string,
    load: (path: string) => Promise<T>,
  ): (() => T | undefined) => {
    if (path === '') return () => undefined
    const source = liveData<T>({
      path,
      clock: options.clock,
      load: async (from) => {
        const data = await load(from)
        options.onEvent(loadedEvent(what, path, data))
        return data
      },
      onFault: (error) => {
        const reason = error instanceof Error ? error.message : String(error)
        options.onEvent({ kind: 'fault', what, file: path, reason })
      },
    })
    sources.push(source)
    return source.current
  }

  const directory = open<RepeaterDirectory>('repeaters', options.repeaters.file, (file) =>
    loadRepeaters(file, options.repeaters.columns),
  )
  const { positionAgeMaxMs } = options
  const all: Service[] = [
    helpService,
    repeatersService({
      directory: () => directory()?.index,
      rangeM: options.repeaters.rangeM,
      positionAgeMaxMs,
    }),
  ]
  return {
    services: all.filter((service) => !options.off.includes(service.keyword)),
    ready: Promise.all(sources.map((source) => source.ready)).then(() => undefined),
    async close() {
      for (const source of sources) source.close()
    },
  }
}

function loadedEvent(what: string, file: string, data: Loaded<unknown>): ServiceEvent {
  const name = file.split(/[\\/]/).at(-1) ?? file
  return {
    kind: 'loaded',
    what,
    file,
    count: data.entries.length,
    rejectedCount: data.rejectedCount,
    rejected: data.rejected.map((one) => describeRejected(name, one)),
  }
}
