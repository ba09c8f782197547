import { join } from 'node:path'
import type { Config } from '../../config/schema.js'
import type { RadioPort } from '../../radio/radioPort.js'
import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { packageRoot, programVersion } from '../../runtime/installation.js'
import { type Random, randomId } from '../../runtime/random.js'
import type { PageServer } from '../../web/server.js'
import type { KeepingLog } from './runLog.js'
import type { RunningNode } from './runNode.js'

export interface RunPageParts {
  readonly config: Config
  readonly clock: Clock
  readonly random: Random
  readonly ports: readonly RadioPort[]
  readonly running: RunningNode
  readonly trouble: () => string | undefined
  readonly log: KeepingLog
}

/** As `npm run build` makes it. */
const pageFolder = join(packageRoot, 'dist', 'page')

/** The operator's page, where it is configured, loaded only then. One that cannot be served stops no node: it is told. */
export async function openConfiguredPage(parts: RunPageParts): Promise<PageServer | undefined> {
  const { config, clock, running, log } = parts
  if (!config.page.enabled) return undefined
  try {
    const { startPage } = await import('../../web/server.js')
    const page = await startPage(
      {
        ...{ clock, config: running.config, call: config.station.call, version: programVersion() },
        ...{ ports: parts.ports, node: running.node, store: running.store },
        ...{ trouble: parts.trouble, faults: log.recentFaults },
        isClockTrusted: running.isClockTrusted,
        broker: running.broker && (() => running.broker!.state),
        note(event) {
          running.store.events.add(event)
          log.node(event)
        },
      },
      config.page,
      randomId(parts.random),
      pageFolder,
    )
    log.note(`the page is at ${page.place}`)
    return page
  } catch (error) {
    log.fault(errorText(error))
    return undefined
  }
}
