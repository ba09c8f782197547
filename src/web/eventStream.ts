import type { ServerResponse } from 'node:http'
import { type Cancel, type Clock, every } from '../runtime/clock.js'

/** What happens, as those who look are told: a type, a time, and whatever belongs to it. */
export interface StreamItem {
  readonly type: string
  /** wall clock, ms */
  readonly at: number
  readonly [name: string]: unknown
}

export interface Publishing {
  /** a row of the spectrum: not kept, not for everybody, and the first to be left out */
  readonly isRow?: boolean
  /** not for those who may only read what is public */
  readonly isHidden?: boolean
}

/** Server-Sent Events: told at once, but no more often than ten times a second, and kept for those who come back. */
export interface EventStream {
  publish(item: StreamItem, how?: Publishing): void
  /** where somebody who has read everything up to now goes on */
  cursor(): string
  /** Writes to this response until it ends. */
  attach(response: ServerResponse, options: Viewing): void
  readonly viewerCount: number
  /** viewers that were too slow and had to begin anew */
  readonly resetCount: number
  close(): void
}

export interface Viewing {
  /** the cursor of the last that it has read; undefined: only what is new */
  readonly after: string | undefined
  readonly rows: boolean
  readonly isPublic: boolean
}

const gatherMs = 100
const keptMax = 2000
const beatMs = 1500
/** Octets that wait for a viewer: beyond the first rows are left out, beyond the second everything. */
const behindOctets = { rows: 65_536, all: 262_144 }
/** A viewer that takes nothing for so long is dropped. */
const stuckMs = 60_000

interface Written {
  readonly json: string
  readonly isRow: boolean
  readonly isHidden: boolean
}

interface Viewer extends Omit<Viewing, 'after'> {
  readonly response: ServerResponse
  behindSinceMs: number | undefined
  /** when something was last written to it */
  writtenMs: number
}

/** @param boot unlike that of any other run: cursors of another run are not understood */
export const createEventStream = (
  clock: Clock,
  boot: string,
  onViewers: (viewers: { readonly count: number; readonly rows: number }) => void,
): EventStream => new SharedStream(clock, boot, onViewers)

class SharedStream implements EventStream {
  private readonly kept: (Written & { readonly sequence: number })[] = []
  private readonly viewers = new Set<Viewer>()
  private sequence = 0
  private flushedMs = Number.NEGATIVE_INFINITY
  private gathered: Written[] = []
  private cancelFlush: Cancel | undefined
  private cancelBeat: Cancel | undefined
  resetCount = 0

  constructor(
    private readonly clock: Clock,
    private readonly boot: string,
    private readonly onViewers: (viewers: { count: number; rows: number }) => void,
  ) {}

  get viewerCount(): number {
    return this.viewers.size
  }

  publish(item: StreamItem, { isRow = false, isHidden = false }: Publishing = {}): void {
    if (isRow && this.viewers.size === 0) return
    const written = { json: JSON.stringify(item), isRow, isHidden }
    if (!isRow) this.kept.push({ ...written, sequence: ++this.sequence })
    if (this.kept.length > keptMax) this.kept.shift()
    if (this.viewers.size === 0) return
    this.gathered.push(written)
    this.cancelFlush ??= this.bookFlush()
  }

  cursor(): string {
    return `${this.boot}-${this.sequence}`
  }

  attach(response: ServerResponse, viewing: Viewing): void {
    // What waits for the others is among what is kept.
    if (this.cancelFlush !== undefined) this.flush()
    const { rows, isPublic } = viewing
    const viewer: Viewer = { response, rows, isPublic, behindSinceMs: undefined, writtenMs: 0 }
    const missed = this.unread(viewing)
    response.write('retry: 1000\n\n')
    if (missed === undefined) response.write(resetMessage(this.cursor()))
    else response.write(message(this.cursor(), missed))
    this.viewers.add(viewer)
    response.once('close', () => {
      this.viewers.delete(viewer)
      this.viewersChanged()
    })
    this.viewersChanged()
  }

  close(): void {
    this.cancelFlush?.()
    this.cancelBeat?.()
    for (const { response } of this.viewers) response.end()
  }

  /** At the end of this turn where nothing was told for a while: a timer would wake the thread once more. */
  private bookFlush(): Cancel {
    const atMs = this.flushedMs + gatherMs
    if (atMs > this.clock.monotonicMs()) return this.clock.at(atMs, () => this.flush())
    let isWanted = true
    queueMicrotask(() => {
      if (isWanted) this.flush()
    })
    return () => {
      isWanted = false
    }
  }

  private flush(): void {
    this.cancelFlush?.()
    this.cancelFlush = undefined
    this.flushedMs = this.clock.monotonicMs()
    const items = this.gathered
    this.gathered = []
    const made = new Map<string, string | undefined>()
    const textFor = (isPublic: boolean, rows: boolean): string | undefined => {
      const key = `${isPublic} ${rows}`
      if (!made.has(key)) {
        const shown = items.filter((one) => (rows || !one.isRow) && !(isPublic && one.isHidden))
        made.set(key, shown.length === 0 ? undefined : message(this.cursor(), shown))
      }
      return made.get(key)
    }
    for (const viewer of this.viewers)
      this.send(viewer, textFor(viewer.isPublic, viewer.rows), textFor(viewer.isPublic, false))
  }

  private send(viewer: Viewer, whole: string | undefined, withoutRows: string | undefined): void {
    const { response } = viewer
    if (viewer.behindSinceMs !== undefined) {
      this.catchUp(viewer, viewer.behindSinceMs)
      return
    }
    const waiting = response.writableLength
    if (waiting > behindOctets.all) {
      viewer.behindSinceMs = this.clock.monotonicMs()
      this.resetCount++
      return
    }
    const text = waiting > behindOctets.rows ? withoutRows : whole
    if (text === undefined) return
    response.write(text)
    viewer.writtenMs = this.clock.monotonicMs()
  }

  /** Once it has read all that waited for it, it begins anew. */
  private catchUp(viewer: Viewer, sinceMs: number): void {
    const { response } = viewer
    if (response.writableLength === 0) {
      viewer.behindSinceMs = undefined
      response.write(resetMessage(this.cursor()))
    } else if (this.clock.monotonicMs() - sinceMs > stuckMs) response.destroy()
  }

  private viewersChanged(): void {
    const all = [...this.viewers]
    this.onViewers({ count: all.length, rows: all.filter((one) => one.rows).length })
    if (all.length > 0) this.cancelBeat ??= every(this.clock, beatMs, () => this.beat())
    else {
      this.cancelBeat?.()
      this.cancelBeat = undefined
    }
  }

  /** So that a viewer notices when nothing comes any more; whoever has just got something knows. */
  private beat(): void {
    const nowMs = this.clock.monotonicMs()
    for (const viewer of this.viewers)
      if (nowMs - viewer.writtenMs >= beatMs / 2) this.send(viewer, beatMessage, beatMessage)
  }

  /** undefined where what it has not read is not kept any more */
  private unread({ after, isPublic }: Viewing): Written[] | undefined {
    if (after === undefined) return []
    const dash = after.lastIndexOf('-')
    const of = after.slice(0, dash)
    const last = Number(after.slice(dash + 1))
    const oldest = this.kept[0]?.sequence ?? this.sequence + 1
    const isKept = Number.isInteger(last) && last <= this.sequence && last >= oldest - 1
    if (of !== this.boot || !isKept) return undefined
    return this.kept.filter((one) => one.sequence > last && !(isPublic && one.isHidden))
  }
}

/** JSON has no line ends of its own, so that one line holds it. */
const message = (id: string, items: readonly Written[]): string =>
  `id: ${id}\ndata: [${items.map(({ json }) => json).join(',')}]\n\n`

const resetMessage = (id: string): string => `id: ${id}\nevent: reset\ndata: []\n\n`

const beatMessage = 'event: beat\ndata: 0\n\n'
