import { batch, computed, signal } from '@preact/signals'
import type { EventView, RadioView, Reading, StateView, StationView } from '../schemas'
import { ApiError, get } from './api'
import { pushRow } from './rows'
import { isStill } from './settings'

/** One line of the strip. */
export interface Entry {
  readonly key: string
  readonly atWallMs: number
  readonly radio: number | undefined
  /** decides colour and shape */
  readonly manner: 'heard' | 'ours' | 'wrong' | 'waits' | 'may' | 'plain'
  readonly kind: string
  readonly station: string | undefined
  readonly text: string
  readonly reason: string | undefined
  /** figures of a frame or of a damaged one; the words are made when it is shown */
  readonly detail?: StreamItem
}

interface StreamItem {
  readonly type: string
  readonly at: number
  readonly radio?: number
  // biome-ignore lint/suspicious/noExplicitAny: each type has its own; the schemas are the server's
  readonly [name: string]: any
}

/** What the channel did. */
export interface Span {
  readonly radio: number
  readonly what: 'heard' | 'ours' | 'held'
  readonly fromWallMs: number
  toWallMs: number | undefined
}

export type Connection = 'starting' | 'live' | 'lost' | 'refused'

export const state = signal<StateView | undefined>(undefined)
export const connection = signal<Connection>('starting')
export const lostSinceMs = signal(0)
export const entries = signal<readonly Entry[]>([])
export const spans = signal<readonly Span[]>([])
export const tryState = signal<unknown>(undefined)
/** calls for help of the last hours, newest first */
export const emergencies = signal<readonly EventView[]>([])
/** of the last frame that was read, by radio */
export const lastQuality = signal<Readonly<Record<number, StationView['quality']>>>({})
export const right = computed(() => state.value?.visitor.right ?? 'none')
/** counts up when threads, mail or stations may have changed */
export const changes = signal(0)

let offsetMs = 0
/** the node's time, moving once a second */
export const now = signal(Date.now())
export const nodeNow = (): number => Date.now() + offsetMs
/** What is told comes some tenths of a second late; more is another time of the node's clock, or of this browser's. */
const offMsMax = 1500

/** what was missed comes first: it tells nothing of the present */
let isOfBefore = false

/** A clock may be set while the page is open, and a simulated one falls behind on a busy machine. */
function heardOfTime(atWallMs: number): void {
  const isOff = Math.abs(atWallMs - nodeNow()) > offMsMax
  if (isOff && !isOfBefore) offsetMs = atWallMs - Date.now()
}

const entriesMax = 300
const spansMax = 400
const silentMs = 4000
const emergencyShownMs = 6 * 3_600_000

let source: EventSource | undefined
let lastWordMs = 0
let keyCount = 0

/** Reads everything anew, and follows from there. */
export async function start(): Promise<void> {
  source?.close()
  source = undefined
  try {
    const read = await get<StateView>('state')
    // Another version of the program has another page.
    const before = state.peek()?.version
    if (before !== undefined && read.version !== undefined && read.version !== before)
      location.reload()
    offsetMs = read.atWallMs - Date.now()
    const mayRead = read.visitor.right !== 'none'
    const past = mayRead ? await get<EventView[]>('events?limit=200') : []
    const since = Math.round(read.atWallMs - emergencyShownMs)
    const calls = mayRead
      ? await get<EventView[]>(`events?kind=emergency&limit=20&since=${since}`)
      : []
    waiting = []
    const lines = past
      .flatMap((event) => entryOfPast(event))
      .reverse()
      .slice(0, entriesMax)
    toldTwice = lines.filter(({ atWallMs }) => atWallMs >= read.atWallMs - sameMs)
    batch(() => {
      state.value = read
      now.value = nodeNow()
      entries.value = lines
      spans.value = (read.radios ?? []).flatMap(openSpans)
      emergencies.value = calls.toReversed()
      connection.value = 'live'
      changes.value++
    })
    lastWordMs = Date.now()
    if (mayRead) follow(read.cursor)
  } catch (error) {
    if (connection.value !== 'lost') lostSinceMs.value = Date.now()
    connection.value = error instanceof ApiError && error.status < 500 ? 'refused' : 'lost'
    setTimeout(() => void start(), 1500)
  }
}

/** What the stream does not tell: trouble of the node itself, its clock, its broker. The radios are as the stream has them. */
async function readNode(): Promise<void> {
  const before = state.peek()
  if (connection.peek() !== 'live' || before?.radios === undefined || document.hidden) return
  try {
    const { cursor: _, atWallMs: __, radios: ___, ...read } = await get<StateView>('state')
    const present = state.peek()
    // Who logged out meanwhile has been told so.
    if (present?.visitor.right === read.visitor.right)
      state.value = {
        ...read,
        cursor: present.cursor,
        atWallMs: present.atWallMs,
        radios: present.radios,
      }
  } catch {
    // The stream notices when the node is gone.
  }
}
const readNodeMs = 60_000
let nodeReadMs = Date.now()

function openSpans(radio: RadioView): Span[] {
  const fromWallMs = nodeNow()
  const open = (what: Span['what']): Span => ({
    radio: radio.radio,
    what,
    fromWallMs,
    toWallMs: undefined,
  })
  return [
    ...(radio.keyed ? [open('ours')] : radio.channelBusy && radio.receiving ? [open('heard')] : []),
    ...(radio.holds.length > 0 ? [open('held')] : []),
  ]
}

/** Rows of the spectrum cost the node most: only a strip that somebody sees moving needs them. */
const wantsRows = (): boolean => !document.hidden && !isStill.peek()
let withRows = false
/** how far the stream was read */
let readTo = ''

const followAsWanted = (): void => {
  if (source !== undefined && wantsRows() !== withRows) follow(readTo)
}
document.addEventListener('visibilitychange', followAsWanted)
isStill.subscribe(followAsWanted)

function follow(cursor: string): void {
  source?.close()
  readTo = cursor
  withRows = wantsRows()
  const query = new URLSearchParams({ spectrum: withRows ? '1' : '0', after: cursor })
  source = new EventSource(`/api/v1/stream?${query}`)
  source.onopen = () => {
    isOfBefore = true
    word()
  }
  source.addEventListener('beat', word)
  source.addEventListener('reset', () => void start())
  source.onmessage = (message) => {
    word()
    readTo = message.lastEventId
    take(JSON.parse(message.data) as StreamItem[])
    isOfBefore = false
  }
  source.onerror = () => {
    lost()
    // A stream that was refused is not tried again by the browser.
    if (source?.readyState === EventSource.CLOSED) setTimeout(() => void start(), 1500)
  }
}

function word(): void {
  lastWordMs = Date.now()
  if (connection.value !== 'live') connection.value = 'live'
}

function lost(): void {
  if (connection.value === 'lost') return
  lostSinceMs.value = lastWordMs
  connection.value = 'lost'
}

function take(items: readonly StreamItem[]): void {
  const added: Entry[] = []
  batch(() => {
    for (const item of items) {
      if (item.type === 'row') pushRow(item.radio ?? 0, item.at, item.levels as string)
      else takeOne(item, added)
    }
    if (added.length > 0) addLines(added)
  })
}

/**
 * Lines that wait to be shown, oldest first. A machine that is slow to show them shows them less often: in a flood each picture
 * would be another one, and what came meanwhile would come all at once.
 */
let waiting: Entry[] = []
let isShowing = false
const showGapMs = { least: 100, most: 2000, perCost: 4 }

function addLines(added: readonly Entry[]): void {
  waiting = [...waiting, ...added].slice(-entriesMax)
  if (!isShowing) showLines()
}

/** Lines out of the log of what happened once the state was read: the stream tells of these as well. */
let toldTwice: Entry[] = []
/** A frame's event is stamped a little later than the frame. */
const sameMs = 2000

/** @returns the lines shown, without those out of the log that the stream tells of now, and knows more of */
function withoutToldTwice(added: readonly Entry[]): readonly Entry[] {
  if (toldTwice.length === 0) return entries.value
  const isSame = (one: Entry, other: Entry): boolean =>
    one.radio === other.radio &&
    one.kind === other.kind &&
    one.station === other.station &&
    // The log has figures in words.
    (one.text === other.text || one.kind === 'damaged') &&
    Math.abs(one.atWallMs - other.atWallMs) < sameMs
  const gone = new Set<Entry>()
  for (const line of added) {
    const first = toldTwice.find((other) => !gone.has(other) && isSame(line, other))
    if (first !== undefined) gone.add(first)
  }
  toldTwice = toldTwice.filter((line) => !gone.has(line))
  return entries.value.filter((line) => !gone.has(line))
}

function showLines(): void {
  isShowing = true
  entries.value = [...waiting.reverse(), ...withoutToldTwice(waiting)]
    .sort((a, b) => b.atWallMs - a.atWallMs)
    .slice(0, entriesMax)
  waiting = []
  const startedMs = performance.now()
  // A turn later it has been shown.
  setTimeout(() => {
    const costMs = (performance.now() - startedMs) * showGapMs.perCost
    setTimeout(
      () => {
        isShowing = false
        if (waiting.length > 0) showLines()
      },
      Math.min(showGapMs.most, Math.max(showGapMs.least, costMs)),
    )
  })
}

function takeOne(item: StreamItem, added: Entry[]): void {
  switch (item.type) {
    case 'state': {
      heardOfTime(item.at)
      const next = item.state as Omit<RadioView, 'budget' | 'reading'>
      // What it does not name any more is gone, such as why nothing may be sent.
      changeRadio(item.radio, ({ budget, reading }) => ({ ...next, budget, reading }))
      setSpan(next.radio, 'held', next.holds.length > 0, item.at)
      if (!next.receiving) setSpan(next.radio, 'heard', false, item.at)
      break
    }
    case 'budget':
      changeRadio(item.radio, (one) => ({ ...one, budget: item.budget as RadioView['budget'] }))
      break
    case 'reading': {
      heardOfTime(item.at)
      const { type: _, at: __, radio, ...reading } = item
      changeRadio(radio, (one) => ({ ...one, reading: reading as unknown as Reading }))
      break
    }
    case 'carrier':
      // A channel that nobody hears counts as busy; that somebody sends on it is not known.
      setSpan(item.radio ?? 0, 'heard', (item.busy as boolean) && hears(item.radio), item.at)
      break
    case 'frame':
      if (item.quality !== undefined)
        lastQuality.value = { ...lastQuality.value, [item.radio ?? 0]: item.quality }
      changes.value++
      if (isTalkWithUs(item.text as string)) break
      added.push({
        ...{ key: `f${++keyCount}`, atWallMs: item.at, radio: item.radio, manner: 'heard' },
        ...{
          kind: item.repairedBits > 0 ? 'repaired' : 'heard',
          station: item.from,
          text: item.text,
        },
        ...{ reason: undefined, detail: item },
      })
      break
    case 'damaged':
      added.push({
        ...{ key: `d${++keyCount}`, atWallMs: item.toWallMs, radio: item.radio, manner: 'wrong' },
        ...{ kind: 'damaged', station: undefined, text: '', reason: item.cause, detail: item },
      })
      break
    case 'event': {
      const event = item as unknown as EventView
      if (item.kind === 'keyed') setSpan(item.radio ?? 0, 'ours', true, item.at)
      if (item.kind === 'unkeyed') setSpan(item.radio ?? 0, 'ours', false, item.at)
      if (item.kind === 'fault' && event.radio === undefined) addFault(event)
      if (item.kind === 'emergency') emergencies.value = [event, ...emergencies.value].slice(0, 20)
      added.push(...entryOfEvent(event))
      changes.value++
      break
    }
    case 'try':
      tryState.value = item.state
      break
  }
}

function addFault({ atWallMs, text }: EventView): void {
  if (state.value === undefined) return
  const others = (state.value.faults ?? []).filter((other) => other.text !== text)
  state.value = { ...state.value, faults: [{ atWallMs, text }, ...others].slice(0, 5) }
}

const hears = (radio: number | undefined): boolean =>
  state.value?.radios?.find((one) => one.radio === (radio ?? 0))?.receiving ?? true

function changeRadio(radio: number | undefined, change: (one: RadioView) => RadioView): void {
  if (state.value === undefined) return
  const radios = state.value.radios.map((one) => (one.radio === radio ? change(one) : one))
  state.value = { ...state.value, radios }
}

/** What is asked of us and acknowledged to us is an event as well: the strip says it once. */
const isTalkWithUs = (text: string): boolean => {
  const call = state.value?.call ?? ''
  return ['message', 'acknowledgement', 'rejection'].some((what) =>
    text.startsWith(`${what} to ${call}`),
  )
}

/** What happens to a frame besides what the strip shows anyhow. */
const unshown: ReadonlySet<string> = new Set([
  'heard',
  'repaired',
  'queued',
  'answered',
  'keyed',
  'unkeyed',
])
/** Why nothing was to be answered, where nobody would ask why. */
const usual: ReadonlySet<string> = new Set([
  'nothing asked',
  'not addressed to us',
  'copy of a frame heard before',
  'our own frame',
])
/** Said of nearly every message that arrives. */
const plainReason = 'by its receiver'
const acknowledgedCharacters = 30
const manners: Readonly<Record<string, Entry['manner']>> = {
  asked: 'heard',
  left: 'heard',
  posted: 'heard',
  connected: 'heard',
  disconnected: 'heard',
  acknowledged: 'may',
  delivered: 'may',
  release: 'may',
  recovered: 'may',
  answered: 'ours',
  sent: 'ours',
  identified: 'ours',
  held: 'waits',
  hold: 'waits',
  refused: 'wrong',
  rejected: 'wrong',
  'given up': 'wrong',
  expired: 'wrong',
  cut: 'wrong',
  fault: 'wrong',
  unheard: 'wrong',
  damaged: 'wrong',
  emergency: 'wrong',
  ignored: 'waits',
}

/** Frames of before this page was opened are in the log alone. */
function entryOfPast(event: EventView): Entry[] {
  const { atWallMs, radio, kind, station, text } = event
  if (kind !== 'heard' && kind !== 'repaired') return entryOfEvent(event)
  if (isTalkWithUs(text)) return []
  return [
    {
      key: `p${++keyCount}`,
      atWallMs,
      radio,
      manner: 'heard',
      kind,
      station,
      text,
      reason: undefined,
    },
  ]
}

function entryOfEvent(event: EventView): Entry[] {
  const { atWallMs, radio, kind, station } = event
  if (unshown.has(kind) || (kind === 'ignored' && usual.has(event.reason ?? ''))) return []
  const isLong = kind === 'acknowledged' && event.text.length > acknowledgedCharacters
  const text = isLong ? `${event.text.slice(0, acknowledgedCharacters)}…` : event.text
  const reason = event.reason === plainReason ? undefined : event.reason
  // A repetition of what was answered already is asked again, and answered as it was.
  const shownKind = kind === 'ignored' && reason?.startsWith('heard again') ? 'asked' : kind

  return [
    {
      key: `e${++keyCount}`,
      atWallMs,
      radio,
      manner: manners[shownKind] ?? 'plain',
      kind: shownKind,
      station,
      text,
      reason,
    },
  ]
}

function setSpan(radio: number, what: Span['what'], isOn: boolean, atMs: number): void {
  const open = spans.value.find(
    (one) => one.radio === radio && one.what === what && one.toWallMs === undefined,
  )
  if (isOn === (open !== undefined)) return
  if (open !== undefined) {
    open.toWallMs = atMs
    spans.value = [...spans.value]
  } else {
    spans.value = [...spans.value, { radio, what, fromWallMs: atMs, toWallMs: undefined }].slice(
      -spansMax,
    )
  }
}

setInterval(() => {
  now.value = nodeNow()
  if (connection.value === 'live' && source !== undefined && Date.now() - lastWordMs > silentMs)
    lost()
  if (Date.now() - nodeReadMs < readNodeMs) return
  nodeReadMs = Date.now()
  void readNode()
}, 1000)
