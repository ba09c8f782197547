import type { Config } from '../../config/schema.js'
import { brokerUse, mqttOptions } from '../../setup/brokerOptions.js'
import { type Finding, look, mend } from '../shared/finding.js'

/** What goes to a broker, what comes from it, and who may read it. */
export function brokerLines(config: Config): [string, string][] {
  const { broker } = config
  const { prefix, own, tells, neighbours } = brokerUse(config)
  const { clientId } = mqttOptions(config, '')
  const link = broker.tls ? 'TLS' : 'without TLS'
  const login = broker.user === '' ? 'no login' : `login ${broker.user}`
  const figures = {
    radios: 'levels, duty and holds of each radio',
    telemetry: `telemetry (${listed(config.beacons.telemetry.map(({ name }) => name))})`,
  }
  const told = [`that it is there (${prefix}/${own}/online)`, ...tells.map((one) => figures[one])]
  return [
    ['at', `${broker.host} port ${broker.port}, MQTT 5, ${link}, ${login}, as ${clientId}`],
    ['tells', `${told.join('; ')}: each ${broker.tellMinutes} minutes, to whoever may read there`],
    [
      'exchanges',
      neighbours.length === 0
        ? 'nothing: no [[hills.neighbour]] is reached by the broker'
        : `entries with ${neighbours.join(', ')}, readable to whoever may read ${prefix}/#; what comes may go on the air from here, by this station's own rules`,
    ],
    ['on the air', "nothing on another's command"],
  ]
}

const listed = (list: readonly string[]): string => list.join(', ') || 'none'

/** What the licensee has to see to. */
export function brokerFindings(config: Config): Finding[] {
  const { broker, hills } = config
  const byBroker = hills.neighbour.filter(({ by }) => by.includes('broker'))
  if (!broker.enabled)
    return hills.enabled && byBroker.length > 0
      ? [mend('broker.enabled', `${callsOf(byBroker)} is to be reached by a broker that is off`)]
      : []
  const unsealed = byBroker.filter(({ secret }) => secret === '')
  return [
    ...(byBroker.length > 0 && !hills.enabled
      ? [mend('hills.enabled', 'entries go by the broker only where this is true')]
      : []),
    ...(unsealed.length > 0
      ? [
          look(
            'hills.neighbour',
            `${callsOf(unsealed)}: without a secret whoever may write to the broker can hand over entries in that name, and have this station send them: set a secret, and give each node rights to its own topics only`,
          ),
        ]
      : []),
    ...(broker.tls
      ? []
      : [
          look(
            'broker.tls',
            'without TLS whoever hears the link can read and change what goes by it',
          ),
        ]),
    ...(byBroker.length > 0
      ? [
          look(
            'broker',
            'messages and letters pass through the broker as they are: whoever runs it, or may read all of it, can read them, and says so to nobody. What comes from it goes on the air under your call: forwarding and third parties (47 CFR 97.113, 97.115, 97.219; elsewhere your local rules) count here as by radio',
          ),
        ]
      : []),
  ]
}

const callsOf = (neighbours: readonly { readonly call: string }[]): string =>
  neighbours.map(({ call }) => call).join(', ')
