import { batch, computed, signal } from '@preact/signals'
import type { EventView, RadioView, Reading, StateView, StationView } from '../schemas'
import { ApiError, get } from './api'
import {
  type Entry,
  entryOfDamaged,
  entryOfEvent,
  entryOfFrame,
  entryOfPast,
  type StreamItem,
} from './entry'
import { addLines, beginLines, entriesMax } from './lines'
import { pushRow } from './rows'
import { isStill } from './settings'

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

const spansMax = 400
const silentMs = 4000
const emergencyShownMs = 6 * 3_600_000

let source: EventSource | undefined
let lastWordMs = 0

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
    const lines = past
      .flatMap((event) => entryOfPast(event, read.call))
      .reverse()
      .slice(0, entriesMax)
    batch(() => {
      state.value = read
      now.value = nodeNow()
      beginLines(lines, read.atWallMs)
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
      added.push(...entryOfFrame(item, state.value?.call ?? ''))
      break
    case 'damaged':
      added.push(entryOfDamaged(item))
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
