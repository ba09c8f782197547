import { inBaseUnits } from '../../config/baseUnits.js'
import type { Config } from '../../config/schema.js'
import { emailRuleAgainst, receiverNamed } from '../../node/email/emailRules.js'
import { writtenBy } from '../../node/email/emailWriting.js'
import { leftForSeveral } from '../../node/mail.js'
import { carriedText, senderOf } from '../../node/mailMessages.js'
import { lastCollectedFrom, tooLongWith } from '../../node/mailRules.js'
import { leftBy } from '../../node/mailWithdrawing.js'
import type { Clock } from '../../runtime/clock.js'
import { offsetAtIn } from '../../runtime/localTime.js'
import type { NamesView } from '../../services/event/namesView.js'
import type {
  AgedPosition,
  EmailReceiver,
  EmailView,
  GeoPosition,
  HeardStation,
  LeftMessage,
  MailboxView,
  Notice,
  NoticesView,
  Service,
  ServiceContext,
  ServiceEffects,
  ServiceStorage,
  StationsView,
  WaitingMessage,
  WithdrawResult,
} from '../../services/service.js'
import { emailOptions } from '../../setup/emailOptions.js'
import type { StoreReader } from '../../store/readOnly.js'
import type { Wordings } from '../../words/air/all.js'

/** What `ask` knows: the node's database as it is, and what its own questions would have changed. */
export interface AskWorld {
  contextFor(
    from: string,
    at: GeoPosition | undefined,
    services: readonly Service[],
  ): ServiceContext
  /** what the node would send on its own because of this question */
  collectedBy(questionId: string): readonly WaitingMessage[]
  /** what services wanted sent to others, or, without a call, posted, since it was last asked */
  besides(): readonly Besides[]
}

/** What a service wants sent to a station, or posted for everybody. */
export interface Besides {
  readonly to?: string
  readonly text: string
}

/**
 * Nothing is written: messages that are left, notices that are posted and what own services keep are remembered for as
 * long as the command runs.
 * @param reader undefined for a node that has heard nothing
 * @param names of an event; undefined where none is configured
 */
export function askWorld(
  config: Config,
  clock: Clock,
  reader: StoreReader | undefined,
  {
    wordings,
    names,
  }: { readonly wordings?: Wordings; readonly names?: NamesView | undefined } = {},
): AskWorld {
  const stations = reader?.stations ?? noStations
  const { mailbox: mail, notices: board } = inBaseUnits(config.node)
  const mailbox = dryMailbox(clock, reader, mail.keepMs)
  const email = dryEmail(config, reader)
  const notices = dryNotices(clock, reader, board.keepMs)
  const storage = dryStorage(reader)
  const { station } = config
  const { latitudeDeg, longitudeDeg } = station
  const hasPosition = latitudeDeg !== undefined && longitudeDeg !== undefined
  const utcOffsetMinutesAt = offsetAtIn(station)
  const node: Omit<ServiceContext['node'], 'utcOffsetMinutes'> = {
    call: station.call,
    position: hasPosition ? { latitudeDeg, longitudeDeg } : undefined,
    positionSource: hasPosition ? 'config' : 'unknown',
    timeSource: 'system',
    utcOffsetMinutesAt,
    units: station.units,
    heightM: station.heightM,
  }
  const wanted: Besides[] = []
  const effects: ServiceEffects = {
    send: (_service, to, text) => wanted.push({ to, text }),
    post: (_service, text) => wanted.push({ text }),
  }
  const heardAt = (from: string): AgedPosition | undefined => {
    const known = stations.find(from)?.position
    if (known === undefined) return undefined
    const { latitudeDeg, longitudeDeg, atWallMs } = known
    return { latitudeDeg, longitudeDeg, ageMs: Math.max(0, clock.wallMs() - atWallMs) }
  }
  return {
    contextFor: (from, at, services) => ({
      askerPosition: at === undefined ? heardAt(from) : { ...at, ageMs: 0 },
      node: { ...node, utcOffsetMinutes: utcOffsetMinutesAt(clock.wallMs()) },
      clock,
      stations: hearing(from, stations, clock),
      mailbox,
      notices,
      email,
      storage,
      effects,
      names,
      language: station.language,
      wordings,
      rehearsal: true,
      services,
    }),
    collectedBy: mailbox.collectedBy,
    besides: () => wanted.splice(0),
  }
}

/** The same stations, and the asker among them: on the air it is heard as it asks. */
function hearing(from: string, stations: StationsView, clock: Clock): StationsView {
  const asking = (): HeardStation => ({
    ...{ frameCount: 1, ...stations.find(from), call: from, via: ['direct'] },
    lastHeardWallMs: clock.wallMs(),
  })
  return {
    ...stations,
    find: (call) => (call === from ? asking() : stations.find(call)),
    recent: (count) =>
      [asking(), ...stations.recent(count).filter(({ call }) => call !== from)].slice(0, count),
  }
}

const noStations: StationsView = {
  find: () => undefined,
  recent: () => [],
  weather: () => [],
  signals: () => [],
}

function dryMailbox(
  clock: Clock,
  reader: StoreReader | undefined,
  keptMs: number,
): MailboxView & Pick<AskWorld, 'collectedBy'> {
  const left: (WaitingMessage & { readonly to: string })[] = []
  const collected = new Map<string, readonly WaitingMessage[]>()
  const isCollected = (id: string): boolean =>
    [...collected.values()].some((entries) => entries.some((entry) => entry.id === id))
  const isFor = (to: string, call: string): boolean => to === call || to === call.split('-')[0]
  const waitingFor = (call: string): WaitingMessage[] => {
    const kept = (reader?.mailbox.waitingFor(call) ?? []).map((entry) => ({
      id: `B${entry.id}`,
      from: senderOf(entry),
      text: entry.text,
      leftWallMs: entry.leftWallMs,
    }))
    return [...kept, ...left.filter((entry) => isFor(entry.to, call))].filter(
      (entry) => !isCollected(entry.id),
    )
  }
  const withdrawn = new Set<string>()
  const leftOf = (from: string): LeftMessage[] => {
    const now = left.flatMap(({ from: sender, to, text, leftWallMs }, at) => {
      const number = `A${at + 1}`
      return sender === from ? [{ number, to, text, leftWallMs, state: 'waiting' as const }] : []
    })
    return asWithdrawn([...now, ...(reader ? leftBy(reader.mailbox, from) : [])], withdrawn)
  }
  return {
    leftBy: leftOf,
    withdraw: ({ from }, number) => dryWithdraw(leftOf(from), number, withdrawn),
    waitingFor,
    lastCollectedFrom: (call) => reader && lastCollectedFrom(reader.mailbox, call),
    leftForSeveral: (from) => reader && leftForSeveral(reader.mailbox, from),
    leave(question, toCall, text) {
      const tooLong = tooLongWith(carriedText(question.from, text), text)
      if (tooLong !== undefined) return tooLong
      const { id, from } = question
      left.push({ id, from, to: toCall, text, leftWallMs: clock.wallMs() })
      return { ok: true, waitingCount: waitingFor(toCall).length, keptMs }
    },
    collect(question) {
      const waiting = waitingFor(question.from)
      collected.set(question.id, waiting)
      return waiting
    },
    collectedBy: (questionId) => collected.get(questionId) ?? [],
  }
}

/** What the rules say of mail, and names for as long as the command runs; what waits and what went today is not looked at. */
function dryEmail(config: Config, reader: StoreReader | undefined): EmailView | undefined {
  if (!config.email.enabled) return undefined
  const options = emailOptions(config)
  const names = new Map<string, string>()
  const withdrawn = new Set<string>()
  const written = (from: string): LeftMessage[] =>
    reader === undefined ? [] : asWithdrawn(writtenBy(reader.emails, from), withdrawn)
  const own = (): EmailReceiver[] => [...names].map(([name, address]) => ({ name, address }))
  return {
    receiverOf: (_, word) => receiverNamed(word, own(), options),
    write: (question, to, text) =>
      emailRuleAgainst(options, question.from, to.address, text) ?? { ok: true },
    lastWriterTo: () => undefined,
    answer: () => ({ ok: false, reason: 'receiver' }),
    namesOf: own,
    setName(_, name, address) {
      if (address === undefined) return names.delete(name) ? { ok: true } : unknownName
      names.set(name, address)
      return { ok: true }
    },
    writtenBy: written,
    withdraw: ({ from }, number) => dryWithdraw(written(from), number, withdrawn),
  }
}
const unknownName = { ok: false, reason: 'unknown' } as const

function dryNotices(clock: Clock, reader: StoreReader | undefined, keptMs: number): NoticesView {
  const posted: Notice[] = []
  return {
    recent: (count) =>
      [...posted, ...(reader?.notices.current(clock.wallMs(), count) ?? [])].slice(0, count),
    post(question, text) {
      const tooLong = tooLongWith(`${question.from}: ${text}`, text)
      if (tooLong !== undefined) return tooLong
      posted.unshift({ from: question.from, text, postedWallMs: clock.wallMs() })
      return { ok: true, keptMs }
    },
  }
}

function dryStorage(reader: StoreReader | undefined): ServiceStorage {
  const written = new Map<string, Map<string, string>>()
  const of = (service: string): Map<string, string> => {
    const known = written.get(service) ?? reader?.serviceData.all(service) ?? new Map()
    written.set(service, known)
    return known
  }
  return {
    read: of,
    write(service, changes) {
      for (const [key, value] of changes) {
        if (value === undefined) of(service).delete(key)
        else of(service).set(key, value)
      }
    },
  }
}

const asWithdrawn = (
  messages: readonly LeftMessage[],
  withdrawn: ReadonlySet<string>,
): LeftMessage[] =>
  messages.map((one) => (withdrawn.has(one.number) ? { ...one, state: 'withdrawn' } : one))

/** What the node would do with what is not on its way; it knows more of what is. */
function dryWithdraw(
  own: readonly LeftMessage[],
  number: string,
  withdrawn: Set<string>,
): WithdrawResult {
  const message = own.find((one) => one.number === number)
  if (message === undefined) return { kind: 'unknown' }
  if (message.state === 'passed on') return { kind: 'asked' }
  if (message.state !== 'waiting' && message.state !== 'sending') return { kind: 'over', message }
  withdrawn.add(number)
  if (message.several !== undefined) return { kind: 'several', haveIt: message.several.haveIt }
  return { kind: 'withdrawn', to: message.to, perhaps: message.state === 'sending' }
}
