import type { Config } from '../../config/schema.js'
import { type Finding, mend } from '../shared/finding.js'

type Rule = Config['alerts']['rule'][number]

/** Who is told of what. */
export function alertLines({ alerts }: Config): [string, string][] {
  const { to, mail, command, rule } = alerts
  const program = command.length === 0 ? [] : [`the program ${command[0]}`]
  return [
    ['told', [...to, ...mail, ...program].join(', ') || 'nobody'],
    ...rule.map((one): [string, string] => [
      one.name,
      `${whenWords(one)}; again after ${one.againHours} h`,
    ]),
  ]
}

function whenWords({ when, station, forHours = 0, channel, value }: Rule): string {
  switch (when) {
    case 'heard':
      return `when ${station} is heard`
    case 'not-heard':
      return `when ${station} is not heard for ${forHours} h`
    case 'telemetry-below':
      return `when ${channel} falls below ${value}`
    case 'telemetry-above':
      return `when ${channel} rises above ${value}`
    case 'disk-below':
      return `when less than ${value} MB are free beside the database`
    case 'held':
      return forHours === 0 ? 'when a radio is held' : `when a radio is held for ${forHours} h`
    case 'broker-away':
      return `when there is no link to the broker for ${forHours} h`
    case 'emergency':
      return 'when somebody calls for help'
  }
}

/** Rules that can tell nobody, or look at what is not there. */
export function alertFindings({ alerts, beacons, email, broker }: Config): Finding[] {
  const { to, mail, command, rule } = alerts
  if (rule.length === 0) return []
  const channels = beacons.telemetry.map(({ name }) => name)
  return [
    ...(to.length + mail.length + command.length === 0
      ? [
          mend(
            'alerts',
            'there are rules, and nobody is told: name stations in alerts.to, addresses in alerts.mail, or a program in alerts.command',
          ),
        ]
      : []),
    ...(mail.length > 0 && !email.enabled
      ? [mend('alerts.mail', 'mail goes through [email]: set email.enabled = true')]
      : []),
    ...rule
      .filter(({ when }) => when === 'broker-away' && !broker.enabled)
      .map(({ name }) =>
        mend(`alerts, rule "${name}"`, 'there is no broker: set broker.enabled = true'),
      ),
    ...rule.flatMap(({ name, channel }) =>
      channel === undefined || channels.includes(channel)
        ? []
        : [mend(`alerts, rule "${name}"`, `there is no channel "${channel}" in beacons.telemetry`)],
    ),
  ]
}
