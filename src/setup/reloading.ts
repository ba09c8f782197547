import type { Config } from '../config/schema.js'
import { radioTableNames } from '../config/schema.js'
import { isRecord } from '../runtime/isRecord.js'

/** Which keys of another configuration a running node takes over, and which need a restart, by their dotted names. */
export interface ConfigChange {
  readonly taken: readonly string[]
  readonly restart: readonly string[]
}

/**
 * Keys that are taken over while it runs; everything else needs a restart: devices, ports, files, limits of transmitting, and what
 * another part has built upon. A name stands for all below it.
 */
const takenOver: readonly string[] = [
  'station.latitudeDeg',
  'station.longitudeDeg',
  'station.heightM',
  'station.units',
  'station.timeZone',
  'station.utcOffsetMinutes',
  ...(['answer', 'alias', 'ignored', 'retryGapsS', 'retryJitter', 'window'] as const).map(ofNode),
  ...(['answerNotAfterS', 'shortWhenBusy', 'replyPath', 'configuredPath'] as const).map(ofNode),
  ...(['copyWindowS', 'numberedCopyWindowS', 'acknowledgeAgainS'] as const).map(ofNode),
  ...(['questionsPerStation', 'quiet', 'mailbox', 'notices'] as const).map(ofNode),
  'emergency.words',
  'emergency.exerciseWords',
  'emergency.reply',
  ...[
    'notAfterS',
    'symbol',
    'comment',
    'status',
    'nearestRepeaters',
    'schedule',
    'object',
    'antenna',
  ].map((key) => `beacons.${key}`),
  'transmit.slotTimeMs',
  'transmit.persistence',
  'transmit.fullDuplex',
  'log',
]

function ofNode(key: keyof Config['node']): string {
  return `node.${key}`
}

/** What is otherwise in the new configuration. */
export function configChange(old: Config, next: Config): ConfigChange {
  // Of the only radio, without a name of its own, the tables stand in the file by themselves.
  const isPlain = [old, next].every(
    ({ radios }) => radios.length === 1 && radios[0]!.name === 'radio',
  )
  const before = leaves(isPlain ? plainRadio(old) : numberedRadios(old))
  const after = leaves(isPlain ? plainRadio(next) : numberedRadios(next))
  const changed = [...new Set([...before.keys(), ...after.keys()])].filter(
    (key) => before.get(key) !== after.get(key),
  )
  const isSameSet = old.radios.length === next.radios.length
  const isTaken = (key: string): boolean =>
    isTakenOver(key) && (isSameSet || !key.startsWith('radio.'))
  return { taken: changed.filter(isTaken), restart: changed.filter((key) => !isTaken(key)) }
}

/** With several radios a radio's keys stand below `radio.0`, `radio.1` and so on. */
function isTakenOver(key: string): boolean {
  const name = key.replace(/^radio\.\d+\./, '')
  return takenOver.some((one) => name === one || name.startsWith(`${one}.`))
}

const plainRadio = ({ radios, ...rest }: Config): Record<string, unknown> => ({
  ...rest,
  ...Object.fromEntries(radioTableNames.map((name) => [name, radios[0]![name]])),
})

const numberedRadios = ({ radios, ...rest }: Config): Record<string, unknown> => ({
  ...rest,
  radio: Object.fromEntries(radios.entries()),
})

/** Dotted names, each with its value as text; a list is one value. */
function leaves(table: Readonly<Record<string, unknown>>, path = ''): Map<string, string> {
  const found = new Map<string, string>()
  for (const [key, value] of Object.entries(table)) {
    const name = path === '' ? key : `${path}.${key}`
    if (value === undefined) continue
    if (isRecord(value)) for (const [inner, text] of leaves(value, name)) found.set(inner, text)
    else found.set(name, JSON.stringify(value))
  }
  return found
}

/** The old one with what is taken over of the next: the next reload names the rest again. */
export function takenInto(old: Config, next: Config, taken: readonly string[]): Config {
  const merged = structuredClone(old)
  for (const key of taken) {
    const path = pathOf(key)
    const table = tableAt(merged, path.slice(0, -1))
    const value = tableAt(next, path.slice(0, -1))[path.at(-1)!]
    if (value === undefined) delete table[path.at(-1)!]
    else table[path.at(-1)!] = value
  }
  return merged
}

/** Where a key's value stands in a Config, which lists its radios. */
function pathOf(key: string): string[] {
  const names = key.split('.')
  if (names[0] === 'radio') return ['radios', ...names.slice(1)]
  return (radioTableNames as readonly string[]).includes(names[0]!)
    ? ['radios', '0', ...names]
    : names
}

function tableAt(config: Config, path: readonly string[]): Record<string, unknown> {
  let table = config as unknown as Record<string, unknown>
  for (const name of path) table = table[name] as Record<string, unknown>
  return table
}
