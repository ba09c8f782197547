import { wallAgeMs } from '../runtime/clockTrust.js'
import type { ConnectedNeeds } from './connected/connectedMode.js'
import type { Conversing } from './conversing.js'
import type { HeardBulletins } from './heardBulletins.js'
import type { HillNeeds, Hills } from './hills/hills.js'
import type { NodeParts } from './serviceNode.js'

/** The exchange with other nodes, where it is configured: it is made once the mailbox is there, which asks it what came from elsewhere. */
export interface OtherNodes {
  readonly hills: Hills | undefined
  /** absent where nothing is exchanged */
  readonly isFromElsewhere: ((questionId: string) => boolean) | undefined
  begin(common: Shared, conversing: Conversing, bulletins: HeardBulletins): void
  /** Another node that connects gets a session of its own, within its share of the time. */
  sessions(): Pick<ConnectedNeeds, 'sessionFor' | 'meterFor'>
}

type Shared = Omit<
  HillNeeds,
  'nextId' | 'ports' | 'nodeOptions' | 'outbox' | 'tellSoon' | 'tellNews'
>

export function otherNodes(parts: NodeParts): OtherNodes {
  let hills: Hills | undefined
  return {
    get hills() {
      return hills
    },
    isFromElsewhere: parts.hills && ((id) => hills?.isFromElsewhere(id) === true),
    begin(common, conversing, bulletins) {
      hills = parts.hills?.(hillNeeds(parts, common, conversing, bulletins))
    },
    sessions: () =>
      hills === undefined
        ? {}
        : {
            sessionFor: (call) => hills?.sessionFor(call),
            meterFor: (call) => hills?.meterFor(call),
          },
  }
}

/** A receiver heard within this is told at once when something came for it. */
const heardLatelyMs = 10 * 60_000

/** What the exchange with other nodes needs of this one. */
const hillNeeds = (
  { nextId, ports, store, options, clock }: NodeParts,
  common: Shared,
  { mail, outbox }: Conversing,
  bulletins: HeardBulletins,
): HillNeeds => ({
  ...{ ...common, nextId, ports, nodeOptions: options, outbox },
  tellSoon(call) {
    const station = store.stations.find(call)
    const agoMs = station && wallAgeMs(station.lastHeardWallMs, clock.wallMs())
    if (station === undefined || agoMs === undefined || agoMs >= heardLatelyMs) return
    clock.at(clock.monotonicMs(), () => mail.stationHeard(call, station.radio))
  },
  tellNews(node, number, text) {
    const addressee = `BLN${number}`
    const id = String(number)
    bulletins.take({
      ...{
        from: node,
        payload: { kind: 'bulletin', bulletinKind: 'bulletin', addressee, id, text },
      },
    })
  },
})
