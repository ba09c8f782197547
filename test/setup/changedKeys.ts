import { parse, stringify } from 'smol-toml'
import { parseConfig } from '../../src/config/load.js'
import type { Config } from '../../src/config/schema.js'
import type { ConfigKey, ConfigTable } from '../../src/packaging/configKeys.js'

/** Configurations in which between them every key matters: some are looked at only with a kind of device. */
export const bases = [
  `[station]\nlatitudeDeg = 45.0\nlongitudeDeg = -36.0
   [audio]\noutput = "alsa:out"\nchannelCount = 2
   [ptt]\nkind = "serial"\ndevice = "/dev/ttyUSB0"\nattackMs = 100
   [transmit]\nenabled = true\nmorse.enabled = true\nfrequencyMHz = 145.0\npowerW = 5\nantennaGainDbi = 2
   [transmit.holdInput]\nkind = "serial"\ndevice = "/dev/ttyUSB1"
   [services.conditions]\ninstrument = "serial"\npath = "/dev/ttyUSB2"
   [[kiss.serial]]\ndevice = "/dev/ttyUSB3"
   [node.quiet]\nfrom = "22:00"\nto = "06:00"
   [[node.alias]]\nname = "HUT"
   [[page.token]]\nname = "phone"\nsha256 = "${'a'.repeat(64)}"
   [[hills.neighbour]]\ncall = "Q1FAR-5"
   [broker]\nhost = "broker.example.org"
   [[digipeater.between]]\nfrom = 2\nto = 3
   [[alerts.rule]]\nname = "silent"\nwhen = "not-heard"\nstation = "Q0DIG-1"\nforHours = 6\nchannel = "T"\nvalue = 5
   [[beacons.schedule]]\nsend = "status"\neveryMinutes = 30
   [[beacons.object]]\nname = "TOP"\nlatitudeDeg = 45.0\nlongitudeDeg = -36.0
   [beacons.antenna]\npowerW = 25\nheightAboveTerrainM = 100\ngainDb = 6\ndirectionDeg = 90
   [[beacons.telemetry]]\nname = "T"\nunit = "C"\nfile = "package.json"
   [email]\nfrom = "hill@example.org"\nserver.host = "mail.example.org"
   [event]\nname = "Walk"\nfrom = "2026-06-21 07:30"\nto = "2026-06-21 19:00"
   [exposure]\nlimits = "own"\nownWPerM2 = 3\nownAveragingMinutes = 7`,
  `[modem]\nkind = "tcp"\nhost = "modem"\nport = 18702
   [ptt]\nkind = "command"\nkeyCommand = ["key"]\nunkeyCommand = ["unkey"]
   [services.conditions]\ninstrument = "command"\ncommand = ["weather"]
   [beacons.antenna]\nrangeKm = 40
   [[beacons.schedule]]\nsend = "status"\ncron = "0 * * * *"
   [[beacons.telemetry]]\nname = "T"\nunit = "C"\ncommand = ["echo", "5"]`,
  `[modem]\nkind = "serial"\ndevice = "/dev/ttyUSB0"
   [services.conditions]\ninstrument = "file"\npath = "weather.txt"
   [ptt]\nkind = "gpio"\ndevice = "gpiochip0"\nline = 4`,
  '[[radio]]\nname = "hill"',
].map((text) => parse(text) as Document)

export interface Document {
  [key: string]: unknown
}

/** Other values of keys whose form the schema cannot tell. */
const others: Readonly<Record<string, unknown>> = {
  'station.call': 'N0CALL-5',
  'node.quiet.from': '21:00',
  'node.quiet.to': '07:00',
  'services.own.settings': { list: { minutes: 5 } },
  'services.synonyms': { hut: 'find hut' },
  'station.timeZone': 'Europe/Lisbon',
  'node.alias.services': ['help'],
  'beacons.schedule.path': ['WIDE2-1'],
  'beacons.symbol': '/-',
  'beacons.object.symbol': '/-',
  'beacons.schedule.cron': '30 * * * *',
  'beacons.telemetry.file': 'tsconfig.json',
  'beacons.telemetry.command': ['echo', '6'],
  'kiss.tcp.allow': ['192.0.2.1'],
  'page.allow': ['192.0.2.1'],
  'services.conditions.transducers': { OUTSIDE: 'temperatureC' },
  'digipeater.aliases': ['VALLEY'],
  'alerts.to': ['Q1ABC-7'],
  'station.language': 'de',
  'event.from': '2026-06-21 08:00',
  'event.to': '2026-06-21 20:00',
  'node.configuredPath': ['WIDE2-1'],
  'email.senders': ['Q1ABC'],
  'email.receivers': ['anna@example.org'],
  'email.names': { hut: 'hut@example.org' },
  'email.inbox.senders': ['anna@example.org'],
  'node.ignored': ['Q1ABC'],
  'node.groups': ['RESCUE'],
  'transmit.identificationDestination': 'BEACON',
  'hills.neighbour.call': 'Q1FAR-6',
  'hills.neighbour.secret': 'words that only two know',
  'hills.neighbour.takes': ['message'],
  'hills.neighbour.gives': ['message'],
  'hills.neighbour.by': ['broker'],
  'broker.publish': ['radios'],
  'broker.topic': 'valley/hills',
  'audio.input': 'alsa:other',
  'audio.output': 'alsa:other',
}

/** Values that are likely to be valid and other than what holds. */
export function candidates(
  { schema, example, default: usual }: ConfigKey,
  path: string,
): unknown[] {
  const given = path in others ? [others[path]] : []
  const shown = example === undefined ? [] : [(parse(`v = ${example}`) as Document).v]
  if (schema.enum !== undefined) return [...given, ...schema.enum]
  if (schema.type === 'boolean') return [true, false]
  if (schema.type === 'array') return [...given, ...shown, ['other'], [3]]
  const { minimum, maximum, exclusiveMinimum } = schema
  const near = typeof usual === 'number' ? [usual + 1, usual - 1, usual / 2] : []
  const numbers = [...near, minimum, maximum, (exclusiveMinimum ?? 0) + 2]
  const isNumber = schema.type === 'number' || schema.type === 'integer'
  return [...given, ...shown, ...(isNumber ? numbers : ['other'])].filter(
    (one) => one !== undefined,
  )
}

/** The document with one key changed; in a list of tables that of the first. */
export function withKey(base: Document, path: readonly string[], value: unknown): Document {
  const [name = '', ...rest] = path
  if (rest.length === 0) return { ...base, [name]: value }
  const inner = base[name]
  const changed = Array.isArray(inner)
    ? [withKey(inner[0] as Document, rest, value), ...inner.slice(1)]
    : withKey((inner ?? {}) as Document, rest, value)
  return { ...base, [name]: changed }
}

/** The whole of it, or undefined where it is no valid configuration. */
export function configOf(document: Document): Config | undefined {
  try {
    return parseConfig(stringify(document), 'test')
  } catch {
    return undefined
  }
}

export const keysOf = (table: ConfigTable): { path: string; key: ConfigKey }[] => [
  ...table.keys.map((key) => ({ path: `${table.path}.${key.name}`, key })),
  // The tables of a [[radio]] are those of the only radio.
  ...(table.path === 'radio' ? [] : table.tables.flatMap(keysOf)),
]
