import { formatAddress } from '../ax25/address.js'
import { type Ax25Frame, decodeFrame } from '../ax25/frame.js'
import { formatLine } from '../ax25/line.js'
import type { ClientFrame, KissClient } from '../kiss/hub.js'
import type { ClientRecord } from '../radio/kissHost.js'
import type { FinalOutcome } from '../radio/port.js'
import { type Allowance, createAllowance } from '../runtime/allowance.js'
import type { Clock } from '../runtime/clock.js'
import { setNewest } from '../runtime/setNewest.js'
import type { NodeEvent } from '../store/events.js'
import type { Store } from '../store/store.js'

export interface ClientRecordOptions {
  readonly store: Store
  readonly clock: Clock
  /** every event as it happens; it is booked to be in the database */
  readonly onEvent: (event: NodeEvent) => void
}

/** What clients did, and that they came and went. */
export interface ClientJournal extends ClientRecord {
  /** a client or a line came, went or was turned away, in words */
  tell(text: string): void
}

/** Of one machine's clients: refused frames and other news that are recorded at once, and a second; more are counted. */
const newsMax = 50
const newsPerSecond = 0.1
const machinesMax = 200
/** A frame's line in the log; its octets are in the database, whole. */
const lineCharactersMax = 400

/**
 * Keeps who had what sent, when, and what became of it, in the database and its log. A frame is in the database before its
 * radio has it, so that no end of the process, nor of the power, leaves a transmission of which nobody knows whose it was.
 */
export function clientRecord(options: ClientRecordOptions): ClientJournal {
  const { store, clock } = options
  const note = (event: Omit<NodeEvent, 'atWallMs'>): void => {
    const stamped = { ...event, atWallMs: clock.wallMs() }
    store.events.add(stamped)
    options.onEvent(stamped)
  }
  const noteNews = newsLimit(clock, note)
  closeUnfinished(store, note)

  return {
    taken(frame, read) {
      const { radio, octets, client } = frame
      const begun = {
        ...{ atWallMs: clock.wallMs(), radio, priority: 'client', octets, client: client.name },
      }
      const id = store.transmissions.begin(begun)
      const event = eventOf(frame, read, id)
      note({ ...event, kind: 'queued' })
      return (outcome) => {
        const reason = outcome.kind === 'sent' ? outcome.doubt : outcome.reason
        const ended = { outcome: outcome.kind, airtimeMs: airtimeOf(outcome), reason }
        if (id !== undefined) store.transmissions.end(id, ended)
        // The disk did not take it at first; perhaps it does now.
        else store.transmissions.add({ ...begun, ...ended, reference: undefined })
        note({ ...event, kind: outcome.kind, reason })
      }
    },
    refused(frame, reason, read) {
      noteNews(frame.client, { ...eventOf(frame, read, undefined), kind: 'refused', reason })
    },
    note(client, text, radio) {
      noteNews(client, { kind: 'client', radio, text: `KISS client ${client.name} ${text}` })
    },
    tell: (text) => note({ kind: 'client', text }),
  }
}

function eventOf(
  { client, octets, radio }: ClientFrame,
  read: Ax25Frame | undefined,
  id: number | undefined,
): Pick<NodeEvent, 'radio' | 'station' | 'reference' | 'text'> {
  const what = read === undefined ? `${octets.length} octets` : shortLine(read)
  return {
    radio,
    station: read && formatAddress(read.source),
    reference: id === undefined ? undefined : `T${id}`,
    text: `${what} of KISS client ${client.name}`,
  }
}

function shortLine(frame: Ax25Frame): string {
  const line = formatLine(frame)
  return line.length > lineCharactersMax ? `${line.slice(0, lineCharactersMax)}…` : line
}

const airtimeOf = (outcome: FinalOutcome): number | undefined =>
  'airtimeMs' in outcome ? outcome.airtimeMs : undefined

/** What another process had begun and never ended: killed, or without power. */
function closeUnfinished(store: Store, note: (event: Omit<NodeEvent, 'atWallMs'>) => void): void {
  const reason = 'the program ended before it was known whether it was sent'
  for (const { id, octets, radio, client } of store.transmissions.endUnfinished(reason)) {
    const read = decodeFrame(octets)
    const frame = { octets, radio, client: { name: client ?? '', isLocal: true } }
    note({ ...eventOf(frame, read.ok ? read.frame : undefined, id), kind: 'given up', reason })
  }
}

type NoteNews = (client: KissClient, event: Omit<NodeEvent, 'atWallMs'>) => void

/** A client that floods us with what cannot be sent must not fill the database with it, nor hide what others did. */
function newsLimit(clock: Clock, note: (event: Omit<NodeEvent, 'atWallMs'>) => void): NoteNews {
  const machines = new Map<string, { readonly allowance: Allowance; leftOut: number }>()
  return ({ name }, event) => {
    const machine = name.startsWith('tcp ') ? name.replace(/:\d+$/, '') : name
    const known = machines.get(machine) ?? {
      allowance: createAllowance(clock, newsMax, newsPerSecond),
      leftOut: 0,
    }
    setNewest(machines, machine, known, machinesMax)
    if (!known.allowance.take(1)) {
      known.leftOut++
      return
    }
    const before = known.leftOut === 0 ? '' : ` (and ${known.leftOut} more of it before)`
    known.leftOut = 0
    note({ ...event, text: `${event.text}${before}` })
  }
}
