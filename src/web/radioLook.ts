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

/** Of the damaged frames that were looked into last. */
type Losses = NonNullable<Reading['losses']>

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
  const lost = new Map<number, (readonly string[])[]>()
  const told = new Map<string, string>()
  let lookedAtMs = Number.NEGATIVE_INFINITY
  let watching: Cancel[] = []
  let withRows = false
  const ofRadio = (radio: number): SeenOfRadio => ({
    reading: readings.get(radio),
    queue: queues.get(radio) ?? [],
  })

  const take = (radio: number, report: RadioReport): void => {
    if (report.kind === 'queue') queues.set(radio, report.items)
    if (report.kind === 'damaged' && report.causeKinds !== undefined)
      lost.set(radio, [...(lost.get(radio) ?? []), report.causeKinds].slice(-lossesMax))
    if (report.kind === 'reading') {
      const { kind: _, ...figures } = report
      const losses = lossesOf(lost.get(radio) ?? [])
      const reading: Reading = losses === undefined ? figures : { ...figures, losses }
      readings.set(radio, reading)
      const { atWallMs } = reading
      stream.publish({ type: 'reading', at: atWallMs, radio, ...reading })
    }
    publish(stream, radio, report)
    tellStates()
  }

  const tellStates = (): void => {
    const nowMs = clock.monotonicMs()
    if (nowMs - lookedAtMs < stateLookMs.least) return
    lookedAtMs = nowMs
    for (const port of ports) {
      const { reading: _, budget, ...rest } = radioView(port, parts, { ofRadio })
      tellOther('state', port.radio, rest, rest)
      // What is free grows all the time: only a second more is another budget.
      const { freeMs, moreAtWallMs: __, limits, ...others } = budget
      const seconds = freeMs === undefined ? undefined : Math.round(freeMs / 1000)
      const used = limits.map(({ usedMs }) => Math.round(usedMs / 1000))
      tellOther('budget', port.radio, budget, { ...others, seconds, used })
    }
  }

  /** Told by itself where what tells it from others has changed: its list of transmissions makes a budget long. */
  const tellOther = (type: 'state' | 'budget', radio: number, value: object, key: object): void => {
    const name = `${type} ${radio}`
    const text = JSON.stringify(key)
    if (text === told.get(name)) return
    told.set(name, text)
    stream.publish({ type, at: clock.wallMs(), radio, [type]: value })
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
    case 'damaged': {
      const { kind: _, causeKinds: __, ...damaged } = report
      stream.publish({ type: 'damaged', at: report.fromWallMs, radio, ...damaged })
      break
    }
    case 'carrier':
      stream.publish({ type: 'carrier', at: report.atWallMs, radio, busy: report.busy })
      break
  }
}

const lossesMax = 100

/** The cause that was found most often. */
function lossesOf(lost: readonly (readonly string[])[]): Losses | undefined {
  const counts = new Map<string, number>()
  for (const kind of lost.flat()) counts.set(kind, (counts.get(kind) ?? 0) + 1)
  const [most] = [...counts].sort(([, a], [, b]) => b - a)
  return most && { cause: most[0], count: most[1], of: lost.length }
}
