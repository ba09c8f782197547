import type { Config } from '../../config/schema.js'
import { type Finding, mend } from '../shared/finding.js'

type Rule = Config['alerts']['rule'][number]

/** Who is told of what. */
export function alertLines({ alerts }: Config): [string, string][] {
  const { to, command, rule } = alerts
  const program = command.length === 0 ? [] : [`the program ${command[0]}`]
  return [
    ['told', [...to, ...program].join(', ') || 'nobody'],
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
    case 'emergency':
      return 'when somebody calls for help'
  }
}

/** Rules that can tell nobody, or look at what is not there. */
export function alertFindings({ alerts, beacons }: Config): Finding[] {
  const { to, command, rule } = alerts
  if (rule.length === 0) return []
  const channels = beacons.telemetry.map(({ name }) => name)
  return [
    ...(to.length === 0 && command.length === 0
      ? [
          mend(
            'alerts',
            'there are rules, and nobody is told: name stations in alerts.to, or a program in alerts.command',
          ),
        ]
      : []),
    ...rule.flatMap(({ name, channel }) =>
      channel === undefined || channels.includes(channel)
        ? []
        : [mend(`alerts, rule "${name}"`, `there is no channel "${channel}" in beacons.telemetry`)],
    ),
  ]
}
