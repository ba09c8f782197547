import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { planOf } from '../../src/cli/check/checkPlan.js'
import { figuresOfRadio, limitsOfConfig, siteOf } from '../../src/cli/exposure/exposureSite.js'
import { createRunLog } from '../../src/cli/run/runLog.js'
import { parseConfig } from '../../src/config/load.js'
import type { Config } from '../../src/config/schema.js'
import { estimateExposure } from '../../src/exposure/estimate.js'
import { type ConfigKey, configTables } from '../../src/packaging/configKeys.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { alertOptions } from '../../src/setup/alerts.js'
import { brokerUse, mqttOptions } from '../../src/setup/brokerOptions.js'
import { connectedOptions } from '../../src/setup/connectedOptions.js'
import { digipeaterOptions } from '../../src/setup/digipeaterOptions.js'
import { emailOptions, maildirFolder, smtpOptions } from '../../src/setup/emailOptions.js'
import { eventOptions } from '../../src/setup/eventOptions.js'
import { hillOptions } from '../../src/setup/hillOptions.js'
import { kissOptions } from '../../src/setup/kissEnds.js'
import { nodeOptions, storeOptions } from '../../src/setup/nodeOptions.js'
import { modemOptions, radioSetup } from '../../src/setup/openRadio.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { openReadings } from '../../src/setup/telemetryReadings.js'
import { root, sourceFiles } from '../tidy/sources.js'
import { bases, candidates, configOf, keysOf, withKey } from './changedKeys.js'
import { declaredOptions } from './optionTypes.js'

/**
 * A key that nobody reads is a promise that is not kept. So for every key of the schema, whichever it is: a value that is not
 * the default changes the options of the part that uses it, as far as that part's type declares them, or what the part
 * makes of it; or the program takes the key by its name out of its table.
 */

const clock = virtualClock()
const folder = join(root, 'samples')

const declared = declaredOptions({
  node: 'src/node/options.ts: NodeOptions',
  store: 'src/store/store.ts: StoreOptions',
  services: 'src/services/all.ts: ServicesOptions',
  radio: 'src/radio/workerMessages.ts: RadioSetup',
  modem: 'src/radio/kissPort.ts: KissPortOptions',
  host: 'src/radio/kissHost.ts: KissHostOptions',
  ends: 'src/kiss/ends.ts: KissEndsOptions',
  digipeater: 'src/node/digipeater/digipeater.ts: DigipeaterOptions',
  alerts: 'src/setup/alerts.ts: AlertOptions',
  connected: 'src/node/connected/connectedMode.ts: ConnectedOptions',
  hills: 'src/node/hills/hillParts.ts: HillOptions',
  brokerUse: 'src/setup/brokerOptions.ts: BrokerUse',
  mqtt: 'src/links/mqtt.ts: MqttOptions',
  email: 'src/node/email/emailOptions.ts: EmailOptions',
  smtp: 'src/links/smtp.ts: SmtpOptions',
  event: 'src/setup/eventOptions.ts: EventOptions',
  page: 'src/web/server.ts: PageSettings',
})

/** What becomes of a configuration, part by part. */
async function partsOf(config: Config): Promise<Record<string, unknown>> {
  const near = (count: number) => Array.from({ length: count }, () => 'near' as never)
  const node = nodeOptions(config, { nearestRepeaters: near })
  const kiss = kissOptions(config.kiss)
  const modem = modemOptions(config.radios[0]!.modem)
  const site = siteOf(figuresOfRadio(config.radios[0]!), 'average')
  const limits = limitsOfConfig(config.exposure)
  return {
    node: declared.node(node),
    objects: node.beacons.objects(),
    store: declared.store(storeOptions(config, folder, clock, () => {})),
    services: declared.services(serviceOptions(config, folder, clock, () => {})),
    radio: declared.radio(radioSetup(config, 0, folder)),
    modem: declared.modem(modem),
    line: modem.line,
    host: declared.host(kiss.host),
    ends: declared.ends(kiss.ends),
    digipeater: declared.digipeater(digipeaterOptions(config)),
    alerts: declared.alerts(alertOptions(config)),
    connected: declared.connected(connectedOptions(config)),
    hills: declared.hills(hillOptions(config)),
    brokerUse: declared.brokerUse(brokerUse(config)),
    mqtt: declared.mqtt(mqttOptions(config, folder)),
    email: declared.email(emailOptions(config)),
    smtp: declared.smtp(smtpOptions(config, folder)),
    maildir: maildirFolder(config, folder),
    event: declared.event(eventOptions(config, folder)),
    page: declared.page(config.page),
    telemetry: await telemetryOf(config),
    log: logOf(config),
    exposure: site.ok && [limits, estimateExposure(site.site, limits)],
    plan: planOf(config),
  }
}

async function telemetryOf({ beacons }: Config): Promise<unknown> {
  const readings = openReadings(beacons.telemetry, root, clock, () => {})
  await readings.ready
  readings.close()
  return readings.channels.map(({ read, ...channel }) => ({ ...channel, value: read() }))
}

function logOf(config: Config): string {
  const lines: string[] = []
  const log = createRunLog({ write: (text) => lines.push(text) }, config.log, clock)
  for (const kind of ['heard', 'answered'] as const) log.node({ atWallMs: 0, kind, text: kind })
  return lines.join('')
}

/** Keys whose whole use is that `check` tells them. */
const onlyTold = ['station.controlOperator', 'transmit.band']

const baseParts = await Promise.all(bases.map((base) => partsOf(configOf(base)!)))

/** A part that another value of a key changes, in whichever base configuration it does; undefined where there is none. */
async function partChanged(key: ConfigKey, path: string): Promise<string | undefined> {
  for (const [index, base] of bases.entries())
    for (const value of candidates(key, path)) {
      const config = configOf(withKey(base, path.split('.'), value))
      if (config === undefined) continue
      const parts = await partsOf(config)
      for (const [part, before] of Object.entries(baseParts[index]!)) {
        const counts = part !== 'plan' || onlyTold.includes(path)
        if (counts && JSON.stringify(parts[part]) !== JSON.stringify(before)) return part
      }
    }
  return undefined
}

const sources = sourceFiles('src/cli/run', 'src/setup')

/** Files that take the key by its name out of its table: `{ device, lineBitRate } = config.node.gps`. */
function takers(path: string): string[] {
  const [, table = '', name = ''] = /^(.*)\.(\w+)$/.exec(path)!
  const source = `(?:config\\.)?${table.replaceAll('.', '\\.')}`
  const taken = new RegExp(
    `\\{[^{}=]*\\b${name}\\b[^{}=]*\\} = ${source}\\n|\\bconfig\\.${table.replaceAll('.', '\\.')}\\.${name}\\b`,
  )
  return sources.filter(({ text }) => taken.test(text)).map((file) => file.path)
}

describe('every key of the configuration has somebody who reads it', () => {
  it.each(keysOf(configTables()))('$path', async ({ path, key }) => {
    const reader = takers(path)[0] ?? (await partChanged(key, path))
    expect(reader, `${path} is read by nobody, or wants another value in \`others\``).toBeDefined()
  })

  it('notices a key that rides along unread', () => {
    const withStranger = { ...nodeOptions(parseConfig('', 'test')), stranger: 1 }
    expect(declared.node(withStranger)).not.toHaveProperty('stranger')
    expect(takers('node.gps.stranger')).toEqual([])
  })
})
