import { pino } from 'pino'
import type { Config } from '../../config/schema.js'
import { journalPriority } from '../../devices/journal.js'
import { keyingJournal } from '../../node/keyingJournal.js'
import { radioJournal } from '../../node/radioJournal.js'
import type { RadioEvent, RadioEventKind } from '../../radio/radioEvent.js'
import type { Clock } from '../../runtime/clock.js'
import { harmlessJson, harmlessText } from '../../runtime/harmlessText.js'
import { type EventKind, type NodeEvent, nothingAsked } from '../../store/events.js'
import type { Store } from '../../store/store.js'

/** What `run` tells while it runs, one line a thing. */
export interface RunLog {
  /** something of a conversation, a beacon or a heard frame */
  node(event: NodeEvent): void
  radio(name: string, event: RadioEvent): void
  /** start, stop, clients, data files */
  note(text: string): void
  /** something that somebody should mend */
  fault(text: string): void
  /** the program itself is at fault */
  error(text: string): void
  /** other lines, or of another form, from now on */
  change(settings: Config['log']): void
}

/** A log whose faults, and what becomes of the radios, are kept, too, once there is where. */
export interface KeepingLog extends RunLog {
  /** @param store undefined: nowhere any more */
  keepFaultsIn(store: Pick<Store, 'events' | 'keyings'> | undefined): void
  /** only there: a fault of the log itself */
  keepFault(text: string): void
  /** what was told as a fault in the last ten minutes, the newest first, each text once */
  recentFaults(): readonly { readonly atWallMs: number; readonly text: string }[]
}

/** What goes on failing is told again each minute. */
const recentMs = 600_000
const recentMax = 5

/** The same log; its faults go into the database as well, so that `log` can say tomorrow why nothing was heard or sent. */
export function keepingLog(log: RunLog, clock: Clock): KeepingLog {
  let keep: ((text: string) => void) | undefined
  let keepRadio: ReturnType<typeof radioJournal> | undefined
  let keepKeying: ReturnType<typeof keyingJournal> | undefined
  let recent: readonly {
    readonly atMs: number
    readonly atWallMs: number
    readonly text: string
  }[] = []
  const remember = (text: string): void => {
    const one = { atMs: clock.monotonicMs(), atWallMs: clock.wallMs(), text }
    recent = [one, ...recent.filter((other) => other.text !== text)].slice(0, recentMax)
  }
  return {
    ...log,
    radio(name, event) {
      log.radio(name, event)
      keepRadio?.(name, event)
      keepKeying?.(event)
    },
    fault(text) {
      log.fault(text)
      keep?.(text)
      remember(text)
    },
    error(text) {
      log.error(text)
      keep?.(text)
      remember(text)
    },
    keepFault: (text) => keep?.(text),
    recentFaults: () =>
      recent
        .filter(({ atMs }) => clock.monotonicMs() - atMs < recentMs)
        .map(({ atWallMs, text }) => ({ atWallMs, text })),
    keepFaultsIn(store) {
      keep =
        store && ((text) => store.events.add({ atWallMs: clock.wallMs(), kind: 'fault', text }))
      keepRadio = store && radioJournal(store, clock)
      keepKeying = store && keyingJournal(store)
    },
  }
}

/** Told at level 'all' only; the last five are of a radio, which tells them itself. */
const fullNodeEvents: readonly EventKind[] = [
  ...(['heard', 'repaired', 'ignored', 'queued'] as const),
  ...(['hold', 'release', 'settings', 'cut', 'recovered'] as const),
]
/** Everything else is told at level 'all' only. */
const normalRadioEvents: readonly RadioEventKind[] = [
  'cut',
  'unheard',
  'identified',
  'hold',
  'release',
  'settings',
  'recovered',
]

/**
 * @param output where lines go
 * @param settings `log` table of the configuration
 * @param clock for what brings no time along
 * @param isJournal each line begins with its priority, as the system's journal reads it
 */
export function createRunLog(
  output: { write(text: string): unknown },
  settings: Config['log'],
  clock: Clock,
  isJournal = false,
): RunLog {
  let { format } = settings
  const destination = {
    write(line: string) {
      const shown = format === 'json' ? harmlessJson(line) : textOf(line)
      output.write(isJournal ? `<${priorityOf(line)}>${shown}` : shown)
    },
  }
  const level = levels[settings.level]
  const log = pino({ level, base: null, timestamp: false, messageKey: 'text' }, destination)
  const stamp = (wallMs: number): string => new Date(wallMs).toISOString()

  return {
    node({ atWallMs, kind, text, ...detail }) {
      const line = { at: stamp(atWallMs), kind, ...detail }
      if (kind === 'fault' || kind === 'emergency' || kind === 'overdue') log.warn(line, text)
      else if (fullNodeEvents.includes(kind)) log.debug(line, text)
      else log.info(line, text)
    },
    radio(name, { atWallMs, kind, reason, requestId, untilMs: _, radio }) {
      const line = { at: stamp(atWallMs), kind, radio, requestId }
      const text = `${name}: ${reason}`
      if (kind === 'fault') log.warn(line, text)
      else if (normalRadioEvents.includes(kind)) log.info(line, text)
      else log.debug(line, text)
    },
    note: (text) => log.info({ at: stamp(clock.wallMs()), kind: 'note' }, text),
    fault: (text) => log.warn({ at: stamp(clock.wallMs()), kind: 'fault' }, text),
    error: (text) => log.error({ at: stamp(clock.wallMs()), kind: 'fault' }, text),
    change(next) {
      format = next.format
      log.level = levels[next.level]
    },
  }
}

const levels = { quiet: 'warn', normal: 'info', all: 'debug' } as const

/** Levels as pino numbers them. */
const priorities: Readonly<Record<number, number>> = {
  20: journalPriority.debug,
  30: journalPriority.info,
  40: journalPriority.warning,
  50: journalPriority.error,
}

const priorityOf = (line: string): number =>
  priorities[(JSON.parse(line) as { level: number }).level] ?? journalPriority.notice

/** `16:01:25 answered      Q4TRL-7    repeaters 2 (reason)`: time of day in UTC, what, whom it is about, words. */
function textOf(line: string): string {
  const { at = '', kind, station, text, reason } = JSON.parse(line) as Record<string, string>
  const time = at.slice(11, 19)
  const why = reason === undefined || reason === nothingAsked ? '' : ` (${reason})`
  const words = `${time} ${(kind ?? '').padEnd(13)} ${(station ?? '').padEnd(9)} ${text ?? ''}${why}`
  return `${harmlessText(words)}\n`
}
