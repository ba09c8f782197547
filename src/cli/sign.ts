import { dirname, resolve } from 'node:path'
import { Command } from 'commander'
import { loadConfig } from '../config/load.js'
import type { Config } from '../config/schema.js'
import type { Edges } from '../devices/edges.js'
import { harmlessText } from '../runtime/harmlessText.js'
import { planOf } from './check/checkPlan.js'
import { wrapped } from './shared/finding.js'

const width = 64

/** `ridgepost sign`: what hangs at the station, for whoever stands in front of it. */
export function signCommand(edges: Edges): Command {
  return new Command('sign')
    .description(
      'Print a sign for the station: whose it is, that it sends without warning, how it is stopped. Hang it where people come near.',
    )
    .argument('[config]', 'configuration file', 'node.toml')
    .option('--contact <text>', 'how whoever answers for it is reached, such as a telephone number')
    .action(async (file: string, { contact }: { contact?: string }) => {
      const config = await loadConfig(file)
      for (const line of signLines(config, contact, dirname(resolve(file))))
        edges.stdout.write(`${harmlessText(line)}\n`)
    })
}

function signLines(config: Config, contact: string | undefined, folder: string): string[] {
  const { call, controlOperator } = config.station
  const blank = '_'.repeat(30)
  const paragraphs = [
    `AMATEUR RADIO STATION ${call}`,
    'THIS STATION SENDS BY ITSELF AND WITHOUT WARNING.',
    'Do not touch antenna, mast or cables: they burn while it sends, at any power.',
    ...distances(config),
    'TO STOP IT: switch off the radio, at its own switch or at its supply. Nothing is damaged by that.',
    ...stops(config, folder),
    `Who answers for it: ${controlOperator === '' ? blank : controlOperator}`,
    `Telephone: ${contact ?? blank}`,
    'Was your reception disturbed? Note the time to the minute and call: the station knows when it sent.',
  ]
  const rule = '='.repeat(width)
  return [rule, ...paragraphs.flatMap((text) => ['', ...wrapped(text, '  ', width - 2)]), '', rule]
}

/** As `check` reckons them, of each radio that may send. */
function distances(config: Config): string[] {
  const exposures = planOf(config).flatMap(({ lines }) =>
    lines.filter(([label]) => label === 'exposure').map(([, text]) => text),
  )
  return exposures
    .filter((text) => text.startsWith('keep '))
    .map((text) => `${text[0]!.toUpperCase()}${text.slice(1)}.`)
}

/** Only what is there: the operator's socket, and the files of the radios. */
function stops({ radios, operator }: Config, folder: string): string[] {
  const inputs = radios.filter(({ transmit }) => transmit.holdInput.kind !== 'none')
  const files = [...new Set(radios.map(({ transmit }) => transmit.holdFile))].filter(
    (file) => file !== '',
  )
  const byTerminal = [
    ...(operator.socket === '' ? [] : ['`ridgepost hold`']),
    ...(files.length === 0
      ? []
      : [`create the file ${files.map((file) => resolve(folder, file)).join(', ')}`]),
  ]
  return [
    ...(inputs.length > 0 ? ['Or close the switch marked HOLD.'] : []),
    ...(byTerminal.length > 0 ? [`Who has a terminal: ${byTerminal.join(', or ')}.`] : []),
  ]
}
