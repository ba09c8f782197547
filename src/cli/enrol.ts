import { randomBytes } from 'node:crypto'
import { dirname, resolve } from 'node:path'
import { Command } from 'commander'
import { loadConfig } from '../config/load.js'
import type { ControlSecret } from '../control/codeCheck.js'
import { readControlFile, secretOctets, writeControlFile } from '../control/controlFile.js'
import { codeDigitsMax, counterCode, formatBase32 } from '../control/oneTimeCode.js'
import type { Edges } from '../devices/edges.js'
import { Failure } from '../runtime/failure.js'
import { wrapped } from './shared/finding.js'
import { wholeNumber } from './shared/optionValues.js'
import { UsageError } from './shared/usageError.js'

interface EnrolFlags {
  readonly config: string
  readonly clock: boolean
  readonly remove: boolean
  readonly codes: number
}

const rules =
  'Control by radio lets the control operator stop an unattended station from afar. The codes go over the air in the clear: they say who sent a command and hide nothing. Whether a station may run unattended, and be controlled so, is for your licence and your local rules to say (in the United States 47 CFR 97.109, 97.201 to 97.221 and 97.213 are among them); the one who answers for the station must be able to stop it in another way, too.'

/** `ridgepost enrol`: who may stop the station by radio, and the codes for it. */
export function enrolCommand(edges: Edges): Command {
  return new Command('enrol')
    .description('Enrol a control operator, who may hold and release the station by radio.')
    .argument('[call]', 'call sign without SSID; without it, who is enrolled')
    .option('--config <file>', 'configuration, whose control.file is written', 'node.toml')
    .option(
      '--clock',
      'codes that go by the clock (RFC 6238), for an app; taken only while the clock is trusted',
      false,
    )
    .option('--remove', 'take this call off', false)
    .option('--codes <n>', 'how many codes are listed for the pocket', wholeNumber(0, 500), 40)
    .addHelpText('after', `\n${wrapped(rules, '').join('\n')}\n`)
    .action(async (call: string | undefined, flags: EnrolFlags) => {
      const file = await fileOf(flags.config)
      if (call === undefined) list(file, edges)
      else if (flags.remove) remove(callOf(call), file, edges)
      else enrol(callOf(call), file, flags, edges)
    })
}

async function fileOf(configFile: string): Promise<string> {
  const { control } = await loadConfig(configFile)
  if (control.file !== '') return resolve(dirname(resolve(configFile)), control.file)
  throw new Failure({
    code: 'control-off',
    subject: configFile,
    got: 'no control.file',
    expected: 'a file for the secrets of the control operators',
    advice: 'add control.file = "control.json", in a folder that the service may write to',
  })
}

function callOf(text: string): string {
  const call = text.toUpperCase()
  if (/^[A-Z0-9]{3,6}$/.test(call) && /\d/.test(call) && /[A-Z]/.test(call)) return call
  throw new UsageError({
    code: 'enrol-call',
    subject: 'call',
    got: JSON.stringify(text),
    expected: 'a call sign without SSID, such as N0CALL',
  })
}

function list(file: string, { stdout }: Edges): void {
  const { secrets, hold } = readControlFile(file)
  if (secrets.length === 0) stdout.write('Nobody is enrolled.\n')
  for (const { call, goesBy, counter } of secrets) {
    const next = goesBy === 'counter' ? `next code is number ${counter}` : 'codes by the clock'
    stdout.write(`${call}: ${next}\n`)
  }
  if (hold !== undefined) stdout.write(`The station is held by ${hold.by}.\n`)
}

function remove(call: string, file: string, { stdout }: Edges): void {
  const data = readControlFile(file)
  const secrets = data.secrets.filter((secret) => secret.call !== call)
  if (secrets.length === data.secrets.length)
    throw new Failure({
      code: 'not-enrolled',
      subject: call,
      got: 'a call that is not enrolled',
      expected: 'one that is',
    })
  writeControlFile(file, { ...data, secrets })
  stdout.write(`${call} is enrolled no more.\n`)
}

function enrol(call: string, file: string, flags: EnrolFlags, { stdout }: Edges): void {
  const data = readControlFile(file)
  const goesBy = flags.clock ? 'clock' : 'counter'
  const isOther = (one: ControlSecret): boolean => one.call !== call || one.goesBy !== goesBy
  const secret = randomBytes(secretOctets)
  const isNew = data.secrets.every(isOther)
  const secrets = [...data.secrets.filter(isOther), { call, goesBy, secret, counter: 0 } as const]
  writeControlFile(file, { ...data, secrets })
  const codes = flags.clock ? [] : codeList(secret, flags.codes)
  stdout.write(
    [
      `${call} is enrolled in ${file}${isNew ? '' : '; its former codes are void'}.`,
      '',
      `Secret (base32): ${formatBase32(secret)}`,
      flags.clock
        ? `For an app that shows codes: by time, SHA-1, ${codeDigitsMax} digits, 30 s.`
        : `For an app that shows codes: by counter from 0, SHA-1, ${codeDigitsMax} digits.`,
      ...(codes.length > 0
        ? ['Or this list for the pocket: cross out each code once it was sent.', '', ...codes]
        : []),
      '',
      'As a message to the station: hold CODE, hold 30m CODE, release CODE, state CODE.',
      'Keep secret and list where nobody else reads them; they are not shown again.',
      '',
      ...wrapped(rules, ''),
      '',
    ].join('\n'),
  )
}

const codesInLine = 4

function codeList(secret: Uint8Array, count: number): string[] {
  const lines: string[] = []
  for (let first = 0; first < count; first += codesInLine) {
    const cells: string[] = []
    for (let counter = first; counter < Math.min(count, first + codesInLine); counter++)
      cells.push(`${String(counter).padStart(4)}  ${counterCode(secret, counter, codeDigitsMax)}`)
    lines.push(cells.join('   '))
  }
  return lines
}
