import { dirname, isAbsolute, relative } from 'node:path'
import type { Answers, Around } from './session.js'

/** What to write before the hang is measured, ms: longer than that of any radio we know of. */
const hangMsAtFirst = 3000
/** The net cycle without digipeaters is 10 minutes; a station that stays where it is needs no more than this. */
const beaconMinutes = 30
/** Where the Debian package has its service's files. */
const serviceFolder = '/etc/ridgepost'

/** It will run as the package's service, not as who types. */
export const isServiceFile = (file: string): boolean => dirname(file) === serviceFolder

/**
 * The configuration that the answers make, with a comment for who opens it.
 * @param change what a trial needs otherwise
 */
export function configText(
  answers: Answers,
  around: Pick<Around, 'file'>,
  change: { readonly enabled?: boolean } = {},
): string {
  const folder = dirname(around.file)
  const isService = isServiceFile(around.file)
  const enabled = change.enabled ?? answers.enabled ?? false
  return [
    '# Written by `ridgepost setup`. `ridgepost check` says what it does; the sample of a configuration lists every key.',
    '',
    ...table('station', '', [
      ['call', answers.call ?? 'N0CALL'],
      ['controlOperator', answers.controlOperator, 'who answers for every transmission'],
      ['latitudeDeg', answers.latitudeDeg],
      ['longitudeDeg', answers.longitudeDeg],
      ['timeZone', answers.timeZone],
    ]),
    ...radioTables(answers),
    ...table('transmit', '', [
      ['enabled', enabled, 'false: nothing is ever keyed'],
      [
        'frequencyMHz',
        answers.frequencyMHz,
        'these five are for check and exposure: nothing is tuned by them',
      ],
      ['powerW', answers.powerW],
      ['antennaGainDbi', answers.antennaGainDbi],
      ['antennaHeightM', answers.antennaHeightM],
      ['antennaSizeM', answers.antennaSizeM],
      ['keyDelayMs', answers.keyDelayMs, 'from key down to the first frame'],
      [
        'holdFile',
        isService ? '/var/lib/ridgepost/hold' : 'hold',
        'while this file exists nothing is sent',
      ],
    ]),
    ...dataTables(answers, folder),
    ...(answers.beaconPath === undefined
      ? []
      : [
          '[[beacons.schedule]]',
          'send = "position"',
          `everyMinutes = ${beaconMinutes}`,
          `path = ${list(answers.beaconPath)}`,
          '',
        ]),
    ...table('operator', 'for ridgepost state, hold, release, say and beacon', [
      ['socket', isService ? '/run/ridgepost/operator' : 'operator.socket'],
    ]),
    ...(isService ? table('store', '', [['file', '/var/lib/ridgepost/ridgepost.db']]) : []),
  ]
    .join('\n')
    .replace(/\n+$/, '\n')
}

function radioTables(answers: Answers): string[] {
  if (answers.joined === 'serial-modem')
    return table('modem', 'an external KISS modem', [
      ['kind', 'serial'],
      ['device', answers.modemDevice],
      ['lineBitRate', answers.modemBitRate],
    ])
  if (answers.joined === 'tcp-modem')
    return table('modem', 'an external KISS modem', [
      ['kind', 'tcp'],
      ['host', answers.modemHost],
      ['port', answers.modemPort],
    ])
  const keys = answers.keying !== undefined && answers.keying !== 'none'
  return [
    ...table('audio', '', [
      ['input', answers.input],
      ['output', keys ? answers.output : undefined],
    ]),
    ...(keys ? pttTable(answers) : []),
  ]
}

function pttTable(answers: Answers): string[] {
  const { keying, keyDevice, keyLine, activeLow } = answers
  const level: Entry = ['activeLow', activeLow === true ? true : undefined, 'the low level keys']
  switch (keying) {
    case 'vox':
      return table('ptt', 'the radio keys itself on audio (VOX)', [
        ['kind', 'none'],
        ['hangMs', answers.hangMs ?? hangMsAtFirst, 'how long it stays on the air after its audio'],
      ])
    case 'command':
      return table('ptt', '', [
        ['kind', 'command'],
        ['keyCommand', answers.keyCommand],
        ['unkeyCommand', answers.unkeyCommand],
      ])
    case 'gpio':
    case 'hid':
      return table('ptt', '', [['kind', keying], ['device', keyDevice], ['line', keyLine], level])
    default:
      return table('ptt', '', [['kind', 'serial'], ['device', keyDevice], ['line', keying], level])
  }
}

function dataTables({ repeaters, places, satellites, cards }: Answers, folder: string): string[] {
  const at = (path: string | undefined): string | undefined => path && nameFrom(folder, path)
  return [
    ...table('services.repeaters', '', [['file', at(repeaters)]]),
    ...table('services.places', '', [['file', at(places)]]),
    ...table('services.pass', '', [['file', at(satellites)]]),
    ...table('services.find', '', [['folder', at(cards)]]),
  ]
}

/** A file below the configuration's folder moves with it. */
function nameFrom(folder: string, path: string): string {
  const name = relative(folder, path)
  return name === '' || name.startsWith('..') || isAbsolute(name) ? path : name
}

type Value = string | number | boolean | readonly string[] | undefined
type Entry = readonly [key: string, value: Value, comment?: string]

/** Without a value there is no line, and without a line no table. */
function table(name: string, comment: string, entries: readonly Entry[]): string[] {
  const lines = entries.flatMap(([key, value, about]) =>
    value === undefined
      ? []
      : [`${key} = ${valueText(value)}${about === undefined ? '' : `  # ${about}`}`],
  )
  if (lines.length === 0) return []
  return [`[${name}]${comment === '' ? '' : `  # ${comment}`}`, ...lines, '']
}

// Control characters are refused where they are typed; of the rest JSON writes what TOML reads.
const valueText = (value: Exclude<Value, undefined>): string =>
  typeof value === 'object' ? list(value) : JSON.stringify(value)
const list = (words: readonly string[]): string =>
  `[${words.map((word) => JSON.stringify(word)).join(', ')}]`
