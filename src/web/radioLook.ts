import type { QueueReport, RadioReport } from '../radio/radioWatch.js'
import { type Cancel, every } from '../runtime/clock.js'
import type { EventStream } from './eventStream.js'
import type { PageParts } from './parts.js'
import type { Reading } from './schemas.js'
import { radioView } from './stateView.js'

/** What a radio told last, while somebody looks. */
export interface SeenOfRadio {
  readonly reading: Reading | undefined
  readonly queue: readonly QueueReport[]
}

export interface RadioLook {
  /** Begins, or goes on with or without rows of the spectrum; undefined: nobody looks any more. */
  look(spectrum: boolean | undefined): void
  ofRadio(radio: number): SeenOfRadio
}

/** The radios' states are looked at when one tells something, not more often than the first, and at least as often as the second. */
const stateLookMs = { least: 200, most: 500 }

/** What radios tell only while somebody looks, and their states whenever they are others. */
export function lookAtRadios(parts: PageParts, stream: EventStream): RadioLook {
  const { clock, ports } = parts
  const readings = new Map<number, Reading>()
  const queues = new Map<number, readonly QueueReport[]>()
  const toldStates = new Map<number, string>()
  let lookedAtMs = Number.NEGATIVE_INFINITY
  let watching: Cancel[] = []
  let withRows = false
  const ofRadio = (radio: number): SeenOfRadio => ({
    reading: readings.get(radio),
    queue: queues.get(radio) ?? [],
  })

  const take = (radio: number, report: RadioReport): void => {
    if (report.kind === 'queue') queues.set(radio, report.items)
    if (report.kind === 'reading') {
      const { kind: _, ...reading } = report
      readings.set(radio, reading)
    }
    publish(stream, radio, report)
    tellStates()
  }

  const tellStates = (): void => {
    const nowMs = clock.monotonicMs()
    if (nowMs - lookedAtMs < stateLookMs.least) return
    lookedAtMs = nowMs
    for (const port of ports) {
      const view = radioView(port, parts, { ofRadio })
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

  return {
    ofRadio,
    look(spectrum) {
      if (spectrum !== undefined && watching.length > 0 && withRows === spectrum) return
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
    },
  }
}

function publish(stream: EventStream, radio: number, report: RadioReport): void {
  switch (report.kind) {
    case 'row': {
      const levels = Buffer.from(report.levels).toString('base64')
      stream.publish({ type: 'row', at: report.atWallMs, radio, levels }, { isRow: true })
      break
    }
    case 'reading': {
      const { kind: _, ...reading } = report
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
  }
}
