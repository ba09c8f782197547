import { formatAddress } from '../ax25/address.js'
import { decodeFrame } from '../ax25/frame.js'
import type { HeardFrame } from '../radio/port.js'
import type { RadioEvent, RadioEventKind } from '../radio/radioEvent.js'
import type { RadioPort } from '../radio/radioPort.js'
import type { QueueReport, RadioReport } from '../radio/radioWatch.js'
import { type Cancel, every } from '../runtime/clock.js'
import { harmlessText } from '../runtime/harmlessText.js'
import type { NodeEvent } from '../store/events.js'
import { hiddenKinds } from './eventList.js'
import { createEventStream, type EventStream } from './eventStream.js'
import type { PageParts } from './parts.js'
import type { Reading } from './schemas.js'
import { frameText, radioView } from './stateView.js'

/** Gathers what happens and tells it to those who look; what costs something begins when the first of them comes. */
export interface Feed {
  readonly stream: EventStream
  readonly startedWallMs: number
  /** an event of the node, as it happens */
  node(event: NodeEvent): void
  ofRadio(radio: number): {
    readonly reading: Reading | undefined
    readonly queue: readonly QueueReport[]
  }
  close(): void
}

/** The radios' states are looked at when one tells something, not more often than the first, and at least as often as the second. */
const stateLookMs = { least: 200, most: 500 }

/** Of a radio's own events, what the node does not tell anyhow. */
const told: readonly RadioEventKind[] = [
  'keyed',
  'unkeyed',
  'identified',
  'cut',
  'unheard',
  'hold',
  'release',
  'settings',
  'fault',
  'recovered',
]

export function createFeed(parts: PageParts, boot: string): Feed {
  const { clock, ports } = parts
  const readings = new Map<number, Reading>()
  const queues = new Map<number, readonly QueueReport[]>()
  const toldStates = new Map<number, string>()
  let watching: Cancel[] = []
  let lookedAtMs = Number.NEGATIVE_INFINITY
  let withRows = false

  const stream = createEventStream(clock, boot, ({ count, rows }) => {
    if (count === 0) look(undefined)
    else if (watching.length === 0 || withRows !== rows > 0) look(rows > 0)
  })

  const look = (spectrum: boolean | undefined): void => {
    for (const cancel of watching) cancel()
    watching = []
    if (spectrum === undefined) {
      readings.clear()
      queues.clear()
      return
    }
    withRows = spectrum
    watching = ports.map((port) =>
      port.watch({ spectrum, audio: false }, (report) => take(port.radio, report)),
    )
    watching.push(every(clock, stateLookMs.most, tellStates))
  }

  const take = (radio: number, report: RadioReport): void => {
    switch (report.kind) {
      case 'row': {
        const levels = Buffer.from(report.levels).toString('base64')
        stream.publish({ type: 'row', at: report.atWallMs, radio, levels }, { isRow: true })
        break
      }
      case 'reading': {
        const { kind: _, ...reading } = report
        readings.set(radio, reading)
        stream.publish({ type: 'reading', at: report.atWallMs, radio, ...reading })
        break
      }
      case 'damaged': {
        const { kind: _, ...damaged } = report
        stream.publish({ type: 'damaged', at: report.fromWallMs, radio, ...damaged })
        break
      }
      case 'carrier':
        stream.publish({ type: 'carrier', at: report.atWallMs, radio, busy: report.busy })
        break
      case 'queue':
        queues.set(radio, report.items)
        break
    }
    tellStates()
  }

  const tellStates = (): void => {
    const nowMs = clock.monotonicMs()
    if (nowMs - lookedAtMs < stateLookMs.least) return
    lookedAtMs = nowMs
    for (const port of ports) {
      const view = radioView(port, parts, feed)
      const { reading: _, ...rest } = view
      // What is free grows all the time: only a second more is another state.
      const { freeMs, moreAtWallMs: __, limits, ...budget } = view.budget
      const seconds = freeMs === undefined ? undefined : Math.round(freeMs / 1000)
      const used = limits.map(({ usedMs }) => Math.round(usedMs / 1000))
      const text = JSON.stringify({ ...rest, budget, seconds, used })
      if (text === toldStates.get(port.radio)) continue
      toldStates.set(port.radio, text)
      stream.publish({ type: 'state', at: clock.wallMs(), radio: port.radio, state: view })
    }
  }

  const feed: Feed = {
    stream,
    startedWallMs: clock.wallMs(),
    node(event) {
      const { atWallMs, ...rest } = event
      const text = harmlessText(event.text)
      const reason = event.reason === undefined ? undefined : harmlessText(event.reason)
      const isHidden = hiddenKinds.has(event.kind)
      stream.publish({ type: 'event', at: atWallMs, atWallMs, ...rest, text, reason }, { isHidden })
    },
    ofRadio: (radio) => ({ reading: readings.get(radio), queue: queues.get(radio) ?? [] }),
    close() {
      look(undefined)
      stream.close()
    },
  }
  for (const port of ports) follow(port, stream)
  return feed
}

function follow(port: RadioPort, stream: EventStream): void {
  const { radio } = port
  port.onFrame((frame) => stream.publish({ ...frameItem(frame), radio }))
  port.onEvent((event: RadioEvent) => {
    if (!told.includes(event.kind)) return
    const { kind, atWallMs, reason } = event
    const text = port.name
    const item = { kind, radio, atWallMs, text, reason: harmlessText(reason) }
    stream.publish({ type: 'event', at: atWallMs, ...item }, { isHidden: hiddenKinds.has(kind) })
  })
}

function frameItem({ octets, heardAtWallMs, repairedBits, quality }: HeardFrame) {
  const decoded = decodeFrame(octets)
  const from = decoded.ok ? formatAddress(decoded.frame.source) : undefined
  const path = decoded.ok
    ? decoded.frame.path
        .filter(({ repeated }) => repeated)
        .map(({ address }) => formatAddress(address))
    : []
  return {
    ...{ type: 'frame', at: heardAtWallMs, from, via: path, text: frameText(octets) },
    ...{ repairedBits, quality, octetCount: octets.length },
  }
}
