import type { KissClient } from '../kiss/hub.js'
import type { ChannelParameters } from '../kiss/parameters.js'
import type { ChannelAccess, RadioPort } from './radioPort.js'

/** How far clients may move a radio away from its configuration. */
export interface SettingBounds {
  /** longest mean wait for a free channel: slotTimeMs × (256 / (persistence + 1) − 1) */
  readonly meanWaitMsMax: number
  readonly keyDelayMsMax: number
  readonly tailMsMax: number
}

/** The channel-access settings that clients want of one radio. */
export interface ClientSettings {
  /** @returns what holds now, and whether the bounds made it other than what clients want */
  set(client: KissClient, change: ChannelParameters): { holds: ChannelAccess; bounded: boolean }
  /** @returns what holds now that this client is gone; undefined where that changes nothing */
  leave(client: KissClient): ChannelAccess | undefined
}

/**
 * Each client's settings hold for as long as it is connected. Where several want different ones, the latest wins; with none
 * left the configuration holds. All of it stays within bounds in which the node itself can still answer: a client that set
 * P to 0 and SlotTime to 255 made everybody wait for eleven minutes.
 */
export function clientSettings(port: RadioPort, bounds: SettingBounds): ClientSettings {
  const configured = port.access()
  /** in the order of their latest change */
  const wishes = new Map<KissClient, ChannelParameters>()
  let held = configured

  const wished = (): ChannelAccess => Object.assign({}, configured, ...wishes.values())
  const apply = (): boolean => {
    const access = withinBounds(wished(), configured, bounds)
    const change = changeOf(held, access)
    if (isEmpty(change)) return false
    held = access
    port.setAccess(change)
    return true
  }
  return {
    set(client, change) {
      const wish = { ...wishes.get(client), ...change }
      wishes.delete(client)
      wishes.set(client, wish)
      apply()
      return { holds: held, bounded: !isEmpty(changeOf(wished(), held)) }
    },
    leave(client) {
      return wishes.delete(client) && apply() ? held : undefined
    },
  }
}

/** @param configured always within bounds: the licensee's own settings stand */
function withinBounds(
  wished: ChannelAccess,
  configured: ChannelAccess,
  bounds: SettingBounds,
): ChannelAccess {
  const between = (least: number, value: number, most: number): number =>
    Math.max(least, Math.min(value, Math.max(least, most)))
  const waitMs = Math.max(bounds.meanWaitMsMax, meanWaitMs(configured))
  const slotTimeMs = Math.min(wished.slotTimeMs, waitMs)
  const persistenceMin = Math.ceil((256 * slotTimeMs) / (waitMs + slotTimeMs)) - 1
  return {
    ...wished,
    slotTimeMs,
    persistence: between(Math.max(0, persistenceMin), wished.persistence, 255),
    // The radio needs what the licensee measured: sooner, nobody would hear the first frame.
    keyDelayMs: between(configured.keyDelayMs, wished.keyDelayMs, bounds.keyDelayMsMax),
    tailMs: between(configured.tailMs, wished.tailMs, bounds.tailMsMax),
  }
}

/** Of a draw that is repeated every slot until it is won. */
const meanWaitMs = ({ slotTimeMs, persistence }: ChannelAccess): number =>
  slotTimeMs * (256 / (persistence + 1) - 1)

const changeOf = (from: ChannelAccess, to: ChannelAccess): Partial<ChannelAccess> =>
  Object.fromEntries(
    Object.entries(to).filter(([name, value]) => from[name as keyof ChannelAccess] !== value),
  )

const isEmpty = (change: object): boolean => Object.keys(change).length === 0

/** In words: `key delay 300 ms, P 63, slot time 100 ms, tail 50 ms`. */
export const formatAccess = (access: ChannelParameters): string =>
  [
    access.keyDelayMs !== undefined && `key delay ${access.keyDelayMs} ms`,
    access.persistence !== undefined && `P ${access.persistence}`,
    access.slotTimeMs !== undefined && `slot time ${access.slotTimeMs} ms`,
    access.tailMs !== undefined && `tail ${access.tailMs} ms`,
    access.fullDuplex !== undefined && `${access.fullDuplex ? 'full' : 'half'} duplex`,
  ]
    .filter((words) => words !== false)
    .join(', ')
