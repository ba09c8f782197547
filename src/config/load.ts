import { readFile } from 'node:fs/promises'
import { basename } from 'node:path'
import { parse } from 'smol-toml'
import type { z } from 'zod'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { tomlProblem } from '../runtime/tomlProblem.js'
import { knownKeys, nearestKey } from './knownKeys.js'
import { type Config, configSchema, radioTableNames, withRadios } from './schema.js'

/**
 * Reads and checks a configuration file.
 * @throws Failure 'config-unreadable', 'config-not-toml', or 'config-invalid', whose message has a line for each wrong key
 */
export async function loadConfig(file: string): Promise<Config> {
  let text: string
  try {
    text = await readFile(file, 'utf8')
  } catch (cause) {
    throw new Failure({
      code: 'config-unreadable',
      subject: file,
      problem: `cannot be read: ${errorText(cause)}`,
      advice:
        (cause as NodeJS.ErrnoException).code === 'ENOENT'
          ? '`ridgepost setup` asks what it must know and writes one'
          : 'samples/node.toml shows what may stand in it',
      cause,
    })
  }
  return parseConfig(text, basename(file))
}

/** As loadConfig, on text; `name` stands in the messages. */
export function parseConfig(text: string, name: string): Config {
  let document: Record<string, unknown>
  try {
    document = parse(text)
  } catch (cause) {
    const { place, problem } = tomlProblem(text, cause)
    throw new Failure({ code: 'config-not-toml', subject: `${name}${place}`, problem, cause })
  }
  const problems: string[] = []
  const doubled = radioTableNames.filter((table) => table in document)
  if ('radio' in document && doubled.length > 0) {
    problems.push(
      `${name}: ${doubled.join(', ')}: got these tables beside [[radio]], expected one or the other; move them into a [[radio]]`,
    )
  }
  const result = configSchema.safeParse(document)
  if (!result.success) {
    for (const issue of result.error.issues) problems.push(...describeIssue(name, issue, document))
  }
  if (problems.length > 0) throw new ConfigInvalid(name, problems)
  return Object.freeze(withRadios(result.data!))
}

/** All problems of one configuration at once. */
export class ConfigInvalid extends Failure {
  constructor(
    name: string,
    readonly problems: readonly string[],
  ) {
    super({
      code: 'config-invalid',
      subject: name,
      got: `${problems.length} wrong`,
      expected: 'none',
    })
    this.message = problems.join('\n')
  }
}

function describeIssue(name: string, issue: z.core.$ZodIssue, document: unknown): string[] {
  const key = issue.path.map(String).join('.')
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((unknown) => {
      const path = key === '' ? unknown : `${key}.${unknown}`
      // A list of tables has a number in its path.
      const movedTo = movedKeys[path.replace(/^radio\.\d+\./, '').replace(/\.\d+\./g, '.')]
      if (movedTo !== undefined) return `${name}: ${path}: got an old key, ${movedTo}`
      const known = knownKeys(configSchema, issue.path)
      const near = nearestKey(unknown, known)
      const advice = near === undefined ? '' : `; did you mean ${near}?`
      return `${name}: ${path}: got an unknown key, expected ${known.join(', ')}${advice}`
    })
  }
  const got = JSON.stringify(valueAt(document, issue.path)) ?? 'nothing'
  return [`${name}: ${key}: got ${got}, ${expectation(issue)}${typeAdvice(issue, document)}`]
}

/** What became of keys that older configurations have. */
const movedKeys: Readonly<Record<string, string>> = {
  'modem.bitRate':
    'expected modem.lineBitRate for the speed of the serial line, or signal.bitRate for the rate on the air',
  'kiss.serial.bitRate': 'expected lineBitRate',
  'node.gps.baud': 'expected lineBitRate',
  'services.conditions.baudRate': 'expected lineBitRate',
}

function expectation(issue: z.core.$ZodIssue): string {
  if (issue.message.startsWith('expected ')) return issue.message
  switch (issue.code) {
    case 'invalid_type':
      return `expected ${typeWords[issue.expected] ?? `a ${issue.expected}`}`
    case 'too_small':
      return `expected at least ${issue.minimum}`
    case 'too_big':
      return `expected at most ${issue.maximum}`
    case 'invalid_value':
      return `expected one of ${issue.values.map((value) => JSON.stringify(value)).join(', ')}`
    default:
      return issue.message.startsWith('Invalid') ? 'expected something else' : issue.message
  }
}

const typeWords: Partial<Record<string, string>> = {
  int: 'a whole number',
  boolean: 'true or false',
  string: 'text in quotes',
  array: 'a list',
  object: 'a table',
}

/** A number in quotes, with a unit or without: what to write instead. */
function typeAdvice(issue: z.core.$ZodIssue, document: unknown): string {
  if (issue.code !== 'invalid_type' || !['number', 'int'].includes(issue.expected)) return ''
  const got = valueAt(document, issue.path)
  const number = typeof got === 'string' ? /^\s*[+-]?\d+(\.\d+)?/.exec(got)?.[0].trim() : undefined
  return number === undefined ? '' : `; write ${String(issue.path.at(-1))} = ${number}`
}

function valueAt(document: unknown, path: readonly PropertyKey[]): unknown {
  let value = document
  for (const step of path) {
    if (typeof value !== 'object' || value === null) return undefined
    value = (value as Record<PropertyKey, unknown>)[step]
  }
  return value
}
