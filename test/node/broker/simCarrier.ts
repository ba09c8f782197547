import { type BrokerCarrier, brokerCarrier } from '../../../src/node/broker/brokerCarrier.js'
import { onlinePayload, topicsOf } from '../../../src/node/broker/topics.js'
import type { HillOptions } from '../../../src/node/hills/hillParts.js'
import { characters } from '../../../src/node/hills/ids.js'
import type { VirtualClock } from '../../../src/runtime/virtualClock.js'
import type { SimBroker } from './simBroker.js'

const prefix = 'ridgepost'
let sessions = 0

/** The way of a real node over a simulated broker, with which it is connected at once. */
export function simCarrier(
  clock: VirtualClock,
  broker: SimBroker,
  { own, neighbours }: HillOptions,
): BrokerCarrier {
  const topics = topicsOf(prefix, own)
  const told = (online: boolean) => ({
    ...{ topic: topics.online, retain: true, expiryMs: 86_400_000 },
    payload: onlinePayload(own, online, []),
  })
  const connection = broker.connection(own, () => carrier.topics, told(false))
  const carrier = brokerCarrier({
    ...{ clock, broker: connection, prefix, own, everyMs: 60_000, turnOctets: 30_000 },
    ...{ neighbours: neighbours.map(({ call }) => call), timeLimitMs: 60_000 },
    newSession: () => characters(16, own, ++sessions),
  })
  connection.start({
    up: () => {
      connection.publish(told(true))
      carrier.up()
    },
    down: () => carrier.down(),
    message: (topic, payload) => carrier.message(topic, payload),
  })
  return carrier
}
