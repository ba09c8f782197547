import type { Config } from '../../config/schema.js'
import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { confirmedService } from '../../services/event/confirmed.js'
import type { NamesView } from '../../services/event/namesView.js'
import { loadNames, type NameEntry } from '../../services/event/parseNames.js'
import { rollService } from '../../services/event/roll.js'
import { tacticalNames } from '../../services/event/tacticalNames.js'
import type { Service } from '../../services/service.js'
import { eventOptions, isWithin } from '../../setup/eventOptions.js'
import { givenNames } from '../../setup/keptNames.js'
import type { StoreReader } from '../../store/readOnly.js'
import type { Wording } from '../../words/air/wording.js'

/** What of an event answers questions. */
export interface AskedEvent {
  readonly names: NamesView
  readonly services: readonly Service[]
}

/** The event of a configuration as `ask` sees it: names of the file and of the database, which stay as they are. */
export async function askedEvent(
  config: Config,
  folder: string,
  parts: {
    readonly clock: Clock
    readonly reader: StoreReader | undefined
    /** of the station's language */
    readonly wording: Wording
    readonly onFault: (text: string) => void
  },
): Promise<AskedEvent> {
  const { clock, reader, wording, onFault } = parts
  const options = eventOptions(config, folder, wording)!
  let entries: readonly NameEntry[] = []
  if (options.namesFile !== '')
    try {
      entries = (await loadNames(options.namesFile)).entries
    } catch (error) {
      onFault(`event names: ${errorText(error)}`)
    }
  const given = reader === undefined ? new Map() : givenNames(reader.serviceData, options.name)
  const isOn = (): boolean => isWithin(options, clock.wallMs())
  const names = tacticalNames({
    ...{ entries: () => entries, isOn, isExercise: options.isExercise, wording },
    keeping: { all: () => given, set: () => false },
    wallMs: () => clock.wallMs(),
    onChange: () => {},
  })
  const { presentMs } = options
  return {
    names,
    services: [rollService({ names, isOn, presentMs }), confirmedService({ names, isOn })],
  }
}
