import { resolve } from 'node:path'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import type { MqttOptions } from '../links/mqtt.js'
import type { AnnouncedKind } from '../node/hills/announcement.js'
import { isBy } from '../node/hills/hillParts.js'
import { hillOptions } from './hillOptions.js'

/** The connection with the broker, out of the configuration. @param folder of the configuration file */
export function mqttOptions(config: Config, folder: string): MqttOptions {
  const { host, port, tls, caFile, user, passwordFile, ...times } = inBaseUnits(config.broker)
  const { keepAliveMs, timeLimitMs, retryMs, retryMaxMs } = times
  const at = (path: string): string => (path === '' ? '' : resolve(folder, path))
  return {
    ...{ host, port, tls, user, timeLimitMs, retryMs, retryMaxMs },
    ...{ caFile: at(caFile), passwordFile: at(passwordFile), keepAliveS: keepAliveMs / 1000 },
    clientId: `ridgepost-${hillOptions(config).own}`,
  }
}

/** What is told there and exchanged, out of the configuration. */
export interface BrokerUse {
  readonly prefix: string
  /** what this node is called there */
  readonly own: string
  readonly tells: readonly ('radios' | 'telemetry')[]
  readonly tellMs: number
  readonly everyMs: number
  readonly turnOctets: number
  /** nodes that are reached by it; none where nothing is exchanged */
  readonly neighbours: readonly string[]
  /** kinds of entries that are taken from one of them at least */
  readonly takes: readonly AnnouncedKind[]
}

export function brokerUse(config: Config): BrokerUse {
  const { topic: prefix, publish: tells, ...rest } = inBaseUnits(config.broker)
  const { tellMs, everyMs, turnOctets } = rest
  const { own, neighbours } = hillOptions(config)
  const reached = config.hills.enabled ? neighbours.filter((one) => isBy(one, 'broker')) : []
  return {
    ...{ prefix, own, tells, tellMs, everyMs, turnOctets },
    neighbours: reached.map(({ call }) => call),
    // Letters are read over connections only.
    takes: [...new Set(reached.flatMap(({ takes }) => takes))].filter(
      (kind) => kind !== 'letter' || config.connected.enabled,
    ),
  }
}
