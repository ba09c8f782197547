import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { createWordings, standardWordings, type Wordings } from '../words/air/all.js'
import { createVocabulary, type Vocabulary } from './asking/vocabulary.js'
import { backService } from './back.js'
import { boardService, postService } from './board.js'
import { bulletinsService } from './bulletins.js'
import { type CardIndex, cardIndex } from './cards/cardIndex.js'
import { type Cards, loadCards } from './cards/loadCards.js'
import { clockService } from './clock.js'
import { conditionsService } from './conditions.js'
import { type LiveData, liveData } from './data/liveData.js'
import { describeRejected, describeWarned, type Loaded, type Rejected } from './data/rejected.js'
import { nameService } from './email/email.js'
import { notOn } from './event/notOn.js'
import { findService } from './find.js'
import { heardService } from './heard.js'
import { helpService } from './help.js'
import { type OwnLanguage, readOwnLanguage } from './language/ownLanguage.js'
import { mailService } from './mail.js'
import { collectService, leaveService, replyService } from './mailbox.js'
import { type OwnServices, openOwnServices } from './own/ownServices.js'
import type { OwnTable } from './own/ownSettings.js'
import { passService } from './pass.js'
import { loadPlaces } from './places/loadPlaces.js'
import { placeIndex } from './places/placeIndex.js'
import { loadRepeaters, type RepeaterIndex } from './repeaters/directory.js'
import type { RepeaterColumns } from './repeaters/parseRepeaters.js'
import { repeatersService } from './repeaters.js'
import type { Service } from './service.js'
import { signalService } from './signal.js'
import { loadElements } from './sky/parseElements.js'
import { sunService } from './sun.js'
import { tellService } from './tell.js'
import { loadForecast } from './weather/forecast.js'
import { type InstrumentOptions, openInstrument } from './weather/instrument.js'
import type { WeatherReading } from './weather/reading.js'
import type { TransducerFields } from './weather/sentences.js'
import { whereService } from './where.js'
import { wordingOf } from './wordingOf.js'

/** Files and folders are '' for none. */
export interface ServicesOptions {
  readonly clock: Clock
  /** the club's own words for services, each with what it means: 'hut' to 'find hut' */
  readonly synonyms: Readonly<Record<string, string>>
  /** the operator has stations that are told of alerts */
  readonly tellsOperator: boolean
  /** a file with a language of the club; '' for none */
  readonly languageFile: string
  /** keywords that are not offered */
  readonly off: readonly string[]
  /** keywords that are answered only while an event is on; absent where none is configured */
  readonly during?:
    | { readonly keywords: readonly string[]; readonly isOn: () => boolean }
    | undefined
  /** an asker's older position is not used */
  readonly positionAgeMaxMs: number
  readonly repeaters: {
    readonly file: string
    readonly columns: RepeaterColumns
    readonly rangeM: number
  }
  readonly conditions: {
    readonly instrument: InstrumentOptions
    readonly transducers: TransducerFields
    readonly readingAgeMaxMs: number
    readonly reportAgeMaxMs: number
    readonly rangeM: number
    readonly forecastFile: string
  }
  readonly pass: {
    readonly file: string
    readonly elementAgeMaxMs: number
    readonly elevationMinDeg: number
  }
  readonly find: { readonly folder: string }
  readonly places: { readonly file: string }
  readonly own: {
    readonly folder: string
    readonly timeLimitMs: number
    readonly memoryMb: number
    /** the operator's, by keyword */
    readonly settings?: Readonly<Record<string, OwnTable>>
  }
  readonly onEvent: (event: ServiceEvent) => void
}

/** What happened to a service or to its data. */
export type ServiceEvent =
  | {
      readonly kind: 'loaded'
      readonly what: string
      readonly file: string
      readonly count: number
      readonly rejectedCount: number
      /** the parts left out, a line each, such as `repeaters.csv:14: latitude: got "91.2", expected …` */
      readonly rejected: readonly string[]
      /** the parts used with a doubt, a line each */
      readonly warned: readonly string[]
      readonly warnedCount: number
    }
  | {
      readonly kind: 'fault'
      readonly what: string
      readonly file: string
      readonly reason: string
    }
  /** something that a person should know, once */
  | { readonly kind: 'remark'; readonly what: string; readonly text: string }
  /** an own service came, went, or printed something */
  | {
      readonly kind: 'own'
      readonly what: 'ready' | 'removed' | 'output'
      readonly file: string
      readonly text: string
    }

export interface OpenServices {
  /** one array for all its life; own services come and go in it */
  readonly services: readonly Service[]
  /** Puts services before those that are there: what the node's other parts answer. */
  add(services: readonly Service[]): void
  /** the words by which they are asked */
  readonly vocabulary: Vocabulary
  /** the languages that it answers in */
  readonly wordings: Wordings
  /** settles when all data was loaded for the first time, well or not */
  readonly ready: Promise<void>
  /** the repeater directory as it is now; undefined when none is loaded */
  repeaters(): RepeaterIndex | undefined
  /** what the own instrument says, while that is fresh; undefined where there is none */
  weather(): Promise<WeatherReading | undefined>
  close(): Promise<void>
}

/** Builds the services, loads their data, and keeps the data up to date while it is open. */
export function createServices(options: ServicesOptions): OpenServices {
  const { clock, off, onEvent, positionAgeMaxMs } = options
  const data = openData(options)
  const language = languageIn(options)
  const wordings = language === undefined ? standardWordings : createWordings(language)
  const vocabulary = createVocabulary(options.synonyms, language)
  const known = { places: data.places }
  const instrument = openInstrument(options.conditions.instrument, {
    clock,
    transducers: options.conditions.transducers,
    onFault: (reason) => onEvent({ kind: 'fault', what: 'conditions', file: '', reason }),
    onRemark: (text) => onEvent({ kind: 'remark', what: 'conditions', text }),
  })
  const builtIn: readonly Service[] = [
    helpService(vocabulary),
    repeatersService({
      ...{ ...options.repeaters, directory: data.directory, positionAgeMaxMs, known },
    }),
    conditionsService({
      ...{ ...options.conditions, instrument, positionAgeMaxMs, known, forecast: data.forecast },
      keepsHistory: options.conditions.instrument.kind !== 'none',
      hasInstrument: options.conditions.instrument.kind !== 'none',
    }),
    passService({ ...options.pass, elements: data.elements, positionAgeMaxMs, known }),
    sunService({ positionAgeMaxMs, known }),
    heardService({ positionAgeMaxMs }),
    whereService({ positionAgeMaxMs, known }),
    signalService,
    leaveService,
    collectService,
    replyService,
    mailService,
    nameService,
    backService(options),
    tellService,
    boardService,
    postService,
    findService({ cards: data.cards, ignored: vocabulary.ignored, topics: vocabulary.topics }),
    clockService,
    bulletinsService({ positionAgeMaxMs }),
  ]
  const offered = (all: readonly Service[]): Service[] =>
    all
      .filter((service) => !off.includes(service.keyword))
      .map((service) => onlyDuring(service, options.during))
  const services = offered(builtIn)
  let ownFrom = services.length
  const own =
    options.own.folder === ''
      ? undefined
      : ownOf(options, (found) => {
          services.splice(ownFrom, services.length, ...offered(found))
        })
  return {
    services,
    vocabulary,
    wordings,
    add(more) {
      services.unshift(...more)
      ownFrom += more.length
    },
    ready: Promise.all([data.ready, own?.ready]).then(() => undefined),
    repeaters: data.directory,
    async weather() {
      const reading = await instrument.read()
      const ageMs = reading && clock.wallMs() - reading.atWallMs
      return ageMs !== undefined && ageMs <= options.conditions.readingAgeMaxMs
        ? reading
        : undefined
    },
    async close() {
      data.close()
      await Promise.all([instrument.close(), own?.close()])
    },
  }
}

/** Outside of the event it is offered to nobody, and says so to who asks. */
function onlyDuring(service: Service, during: ServicesOptions['during']): Service {
  if (during === undefined || !during.keywords.includes(service.keyword)) return service
  const { keyword } = service
  return {
    ...service,
    ready: (now) => (during.isOn() ? (service.ready?.(now) ?? { state: 'ready' }) : notOn),
    answer: (question, context) =>
      during.isOn()
        ? service.answer(question, context)
        : wordingOf(context).say('eventOnlyDuring', { keyword }),
  }
}

/** The keywords that the node itself understands; an own service may take none of them, even when it is off. */
export const builtInKeywords: readonly string[] = [
  'help',
  'repeaters',
  'conditions',
  'pass',
  'sun',
  'heard',
  'where',
  'signal',
  'leave',
  'collect',
  'reply',
  'mail',
  'name',
  'back',
  'tell',
  'board',
  'post',
  'find',
  'clock',
  'bulletins',
]

/** The club's own language; one that cannot be used is told of, and the node speaks the others. */
function languageIn({ languageFile: file, onEvent }: ServicesOptions): OwnLanguage | undefined {
  if (file === '') return undefined
  const what = 'services.languageFile'
  try {
    const language = readOwnLanguage(file)
    const { problems, texts } = language
    onEvent({
      ...{ kind: 'loaded', what, file, count: Object.keys(texts).length },
      ...{ rejected: problems, rejectedCount: problems.length, warned: [], warnedCount: 0 },
    })
    return language
  } catch (error) {
    onEvent({ kind: 'fault', what, file, reason: errorText(error) })
    return undefined
  }
}
/** Of these no own service takes any either: the node answers them in an event. */
export const reservedKeywords: readonly string[] = [...builtInKeywords, 'roll', 'confirmed']

/** The files that the built-in services answer out of. */
function openData(options: ServicesOptions) {
  const sources: LiveData<unknown>[] = []
  const open = <T extends Loaded<unknown>, U>(
    what: string,
    path: string,
    load: (path: string) => Promise<T>,
    index: (loaded: T) => U,
  ): (() => U | undefined) => {
    if (path === '') return () => undefined
    const source = liveData<U>({
      path,
      clock: options.clock,
      load: async (from) => {
        const loaded = await load(from)
        const indexed = index(loaded)
        options.onEvent(loadedEvent(what, path, loaded))
        return indexed
      },
      onFault: (error) => {
        const reason = errorText(error)
        options.onEvent({ kind: 'fault', what, file: path, reason })
      },
    })
    sources.push(source)
    return source.current
  }
  const { repeaters, pass, find, conditions } = options
  return {
    directory: open(
      'repeaters',
      repeaters.file,
      (file) => loadRepeaters(file, repeaters.columns),
      (loaded) => loaded.index,
    ),
    elements: open('pass', pass.file, loadElements, (loaded) => loaded.entries),
    places: open('places', options.places.file, loadPlaces, ({ entries }) => placeIndex(entries)),
    forecast: open('forecast', conditions.forecastFile, loadForecast, ({ entries }) => entries[0]),
    cards: open<Cards, CardIndex>('find', find.folder, loadCards, (loaded) =>
      cardIndex(loaded.entries),
    ),
    ready: Promise.all(sources.map((source) => source.ready)),
    close: () => {
      for (const source of sources) source.close()
    },
  }
}

function ownOf(
  { clock, own, onEvent }: ServicesOptions,
  onChange: (services: readonly Service[]) => void,
): OwnServices {
  return openOwnServices({
    ...own,
    clock,
    taken: reservedKeywords,
    onChange,
    onEvent: (event) => {
      const { file } = event
      if (event.kind === 'fault')
        onEvent({ kind: 'fault', what: 'own service', file, reason: event.reason })
      else if (event.kind === 'output')
        onEvent({ kind: 'own', what: 'output', file, text: event.line })
      else onEvent({ kind: 'own', what: event.kind, file, text: event.keyword })
    },
  })
}

function loadedEvent(what: string, path: string, data: Loaded<Rejected | unknown>): ServiceEvent {
  const name = path.split(/[\\/]/).at(-1) ?? path
  return {
    kind: 'loaded',
    what,
    file: path,
    count: data.entries.length,
    rejectedCount: data.rejectedCount,
    // Of a folder, each part names its own file.
    rejected: data.rejected.map((one) =>
      describeRejected((one as { file?: string }).file ?? name, one),
    ),
    warned: (data.warned ?? []).map((one) => describeWarned(name, one)),
    warnedCount: data.warnedCount ?? 0,
  }
}
