import { statfs } from 'node:fs/promises'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import { type Alert, type AlertHold, type AlertRule, alertRules } from '../node/alertRules.js'
import type { TelemetryChannel } from '../node/beaconOptions.js'
import type { EmergencyReport } from '../node/emergencyMarks.js'
import type { ServiceNode } from '../node/serviceNode.js'
import { runCommand } from '../ptt/childCommand.js'
import type { Port } from '../radio/port.js'
import { type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { Store } from '../store/store.js'
import { standardWordings, type Wordings } from '../words/air/all.js'
import { describeReport } from './emergencyCommand.js'

/** Rules and receivers out of the configuration. */
export interface AlertOptions {
  readonly to: readonly string[]
  /** addresses */
  readonly mail: readonly string[]
  readonly command: readonly string[]
  readonly rules: readonly AlertRule[]
  /** of the station, in which they are told */
  readonly language: string
}

export function alertOptions(config: Config): AlertOptions {
  const { to, mail, command, rule } = inBaseUnits(config.alerts)
  return {
    ...{ to, mail, command, language: config.station.language },
    rules: rule.map(({ forMs = 0, ...rest }) => ({ ...rest, lastedMs: forMs })),
  }
}

export interface AlertParts {
  readonly options: AlertOptions
  readonly clock: Clock
  readonly node: Pick<ServiceNode, 'say'>
  readonly store: Store
  readonly ports: readonly Port[]
  readonly telemetry: readonly TelemetryChannel[]
  /** the languages that the station speaks; those of the program unless given */
  readonly wordings?: Wordings | undefined
  /** whose free room "disk-below" means */
  readonly folder: string
  /** Sends a mail of the station; undefined where no mail is configured. @returns why it cannot go; undefined where it will */
  readonly sendMail?: ((to: string, text: string) => string | undefined) | undefined
  /** undefined where no broker is configured */
  readonly brokerUp?: (() => boolean) | undefined
  readonly onAlert: (text: string) => void
  readonly onFault: (text: string) => void
}

export interface Alerts {
  emergency(report: EmergencyReport): void
  close(): void
}

const lookEveryMs = 60_000
const commandTimeLimitMs = 30_000
const commandsMax = 20

/** Looks each minute whether one of the operator's rules holds, and tells who is to be told. */
export function openAlerts(parts: AlertParts): Alerts {
  const { options, clock, store } = parts
  const wording = (parts.wordings ?? standardWordings).of(options.language)
  const rules = alertRules(options.rules, clock.monotonicMs(), wording)
  const commands = commandQueue(parts)
  const wantsDisk = options.rules.some(({ when }) => when === 'disk-below')
  let freeMb: number | undefined

  const tell = (alerts: readonly Alert[]): void => {
    for (const { name, text, detail } of alerts) {
      const full = detail === undefined ? text : `${text} (${detail})`
      parts.onAlert(full)
      for (const to of options.to) {
        const said = parts.node.say({ to, text })
        if (!said.ok) parts.onFault(`alerts: ${to} cannot be told: ${said.reason}`)
      }
      for (const to of options.mail) {
        const reason =
          parts.sendMail === undefined ? 'email.enabled is false' : parts.sendMail(to, full)
        if (reason !== undefined) parts.onFault(`alerts: ${to} cannot be told: ${reason}`)
      }
      if (options.command.length > 0) commands.run([...options.command, name, full])
    }
  }

  const lookAtDisk = async (): Promise<void> => {
    const stats = await statfs(parts.folder).catch(() => undefined)
    freeMb = stats && (stats.bavail * stats.bsize) / 1e6
  }

  const look = (): void => {
    if (wantsDisk) void lookAtDisk()
    tell(
      rules.look(
        {
          lastHeardWallMs: (call) => store.stations.find(call)?.lastHeardWallMs,
          reading: (channel) => parts.telemetry.find(({ name }) => name === channel)?.read(),
          freeMb: () => freeMb,
          holds: () => holdsOf(parts.ports),
          brokerUp: () => parts.brokerUp?.(),
        },
        clock.monotonicMs(),
      ),
    )
  }
  const cancel = every(clock, lookEveryMs, look)
  return {
    emergency(report) {
      const { station, exercise } = report
      const call = { station, exercise, text: describeReport(report, wording) }
      tell(rules.emergency(call, clock.monotonicMs()))
    },
    close() {
      cancel()
      commands.close()
    },
  }
}

const holdsOf = (ports: readonly Port[]): AlertHold[] =>
  ports.flatMap((port) =>
    (port.state().holds ?? []).map(({ source, reason }) => ({ radio: port.name, source, reason })),
  )

/** One program at a time, never through a shell. Once it is closed, what waits is not told any more. */
function commandQueue({ clock, onFault }: AlertParts): {
  run(words: readonly string[]): void
  close(): void
} {
  let waitingCount = 0
  let closed = false
  let last = Promise.resolve()
  const runOne = async (words: readonly string[]): Promise<void> => {
    waitingCount--
    if (closed) return
    const status = await runCommand(words, clock, commandTimeLimitMs).then(
      (ended) => ended.status,
      (error: unknown) => errorText(error),
    )
    if (status !== 'status 0') onFault(`alerts.command: ${words[0]}: ${status}`)
  }
  return {
    run(words) {
      if (waitingCount >= commandsMax) {
        onFault('alerts.command: too many alerts at once: one was left out')
        return
      }
      waitingCount++
      last = last.then(() => runOne(words))
    },
    close() {
      closed = true
    },
  }
}
