import type { RadioPort } from '../radio/radioPort.js'
import type { DamagedReport } from '../radio/radioWatch.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { NodeEvent } from '../store/events.js'
import type { Store } from '../store/store.js'
import { hourlyJournal } from './hourlyJournal.js'

/** A noisy channel must not fill the log, nor wear the card: of each radio. */
const keptAnHour = 120

export interface LossJournalOptions {
  readonly ports: readonly Pick<RadioPort, 'radio' | 'name' | 'watch'>[]
  readonly store: Pick<Store, 'events'>
  readonly clock: Clock
  /** what is damaged is looked into also while nobody else looks */
  readonly looksAlways: boolean
}

/** Keeps what was damaged, with its likely causes, in the database, written with all that is gathered there. */
export function lossJournal({ ports, store, clock, looksAlways }: LossJournalOptions): Cancel {
  const keep = hourlyJournal(store, clock, keptAnHour)
  const wish = looksAlways ? { spectrum: false, audio: false } : undefined
  const cancels = ports.map((port) =>
    port.watch(wish, (report) => {
      if (report.kind === 'damaged') keep(damagedEvent(port.radio, report), port.name)
    }),
  )
  return () => {
    for (const cancel of cancels) cancel()
  }
}

/** Stamped where it ended, as what was read is. */
function damagedEvent(radio: number, report: DamagedReport): NodeEvent {
  const { fromWallMs, toWallMs, levelDbfs, cause } = report
  const lastedS = Math.max(0, toWallMs - fromWallMs) / 1000
  const text = `a frame of ${lastedS.toFixed(1)} s at ${levelDbfs.toFixed(0)} dBFS was lost`
  return { atWallMs: toWallMs, kind: 'damaged', radio, text, reason: cause }
}
