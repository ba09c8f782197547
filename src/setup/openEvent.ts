import type { ConfiguredEvent } from '../node/serviceNode.js'
import { type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { liveData } from '../services/data/liveData.js'
import { describeRejected } from '../services/data/rejected.js'
import { confirmedService } from '../services/event/confirmed.js'
import { loadNames, type NameEntry } from '../services/event/parseNames.js'
import { rollService } from '../services/event/roll.js'
import { type TacticalNames, tacticalNames } from '../services/event/tacticalNames.js'
import type { Service } from '../services/service.js'
import type { Store } from '../store/store.js'
import type { Wording } from '../words/air/wording.js'
import { type EventOptions, isWithin } from './eventOptions.js'
import { keptNames, noteHolders } from './keptNames.js'

export interface OpenEventParts {
  readonly options: EventOptions
  readonly clock: Clock
  readonly store: Store
  /** of the station's language; English unless given */
  readonly wording?: Wording | undefined
  /** another station may hold a name now */
  readonly onNames: () => void
  /** it begins, ends, or a name was given */
  readonly onNote: (text: string) => void
  readonly onFault: (text: string) => void
}

/** A running node's event. */
export interface OpenEvent extends ConfiguredEvent {
  readonly names: TacticalNames
  readonly services: readonly Service[]
  /** settles when the names were read for the first time, well or not */
  readonly ready: Promise<void>
  close(): void
}

const lookMs = 5_000

/** Loaded only where an event is configured. Whether it is on is asked of the clock each time: a restart changes nothing. */
export function openEvent(parts: OpenEventParts): OpenEvent {
  const { options, clock, store } = parts
  const isOn = (): boolean => isWithin(options, clock.wallMs())
  const file = namesOf(parts)
  const names = tacticalNames({
    entries: file.current,
    keeping: keptNames(store, options.name),
    isOn,
    isExercise: options.isExercise,
    wording: parts.wording,
    wallMs: () => clock.wallMs(),
    onChange: () => look(),
  })
  let wasOn = false
  let held = ''
  const look = (): void => {
    if (isOn() !== wasOn) {
      wasOn = !wasOn
      const what = options.isExercise ? 'exercise' : 'event'
      parts.onNote(`${what} "${options.name}" ${wasOn ? 'is on' : 'is over'}`)
    }
    const now = JSON.stringify(names.all())
    if (now === held) return
    held = now
    noteHolders(store, names.all(), clock.wallMs())
    parts.onNames()
  }
  const cancel = every(clock, lookMs, look)
  return {
    names,
    services: [
      rollService({ names, isOn, presentMs: options.presentMs }),
      confirmedService({ names, isOn }),
    ],
    status: () => (isOn() && options.status !== '' ? options.status : undefined),
    announcements: () => (isOn() ? options.announcements : []),
    ready: file.ready.then(look),
    close() {
      cancel()
      file.close()
    },
  }
}

interface NamesFile {
  readonly current: () => readonly NameEntry[]
  readonly ready: Promise<void>
  close(): void
}

function namesOf({ options, clock, onFault }: OpenEventParts): NamesFile {
  const path = options.namesFile
  if (path === '') return { current: () => [], ready: Promise.resolve(), close: () => {} }
  const source = liveData<readonly NameEntry[]>({
    path,
    clock,
    async load(from) {
      const loaded = await loadNames(from)
      const name = from.split(/[\\/]/).at(-1) ?? from
      for (const row of loaded.rejected.slice(0, 5))
        onFault(`event names: left out ${describeRejected(name, row)}`)
      return loaded.entries
    },
    onFault: (error) => onFault(`event names: ${errorText(error)}`),
  })
  return {
    current: () => source.current() ?? [],
    ready: source.ready,
    close: () => source.close(),
  }
}
