import { existsSync } from 'node:fs'
import { mkdir } from 'node:fs/promises'
import { basename, join, resolve } from 'node:path'
import { replaceFile } from '../../devices/replaceFile.js'
import { Failure } from '../../runtime/failure.js'
import { reservedKeywords } from '../../services/all.js'
import { readDataFile } from '../../services/data/readDataFile.js'
import { trialOf } from '../../services/own/trial.js'
import { type LoadInput, type Prepared, targetOf } from './loadInput.js'

/** A service of one's own: checked, asked once as in a rehearsal, and put among the others. */
export async function prepareService(input: LoadInput): Promise<Prepared> {
  const { source, config, clock } = input
  const { own } = config.services
  const folder = targetOf(input, 'services.own.folder', own.folder)
  const name = basename(source)
  const target = join(folder, name)
  const wrong = (got: string, expected: string): Failure =>
    new Failure({
      code: 'load-service',
      subject: name,
      got,
      expected,
      advice: 'nothing was replaced',
    })
  if (!/^[^.].*\.mjs$/.test(name) || /\.test\.mjs$/.test(name))
    throw wrong(`"${name}"`, 'a name that ends in .mjs, and not in .test.mjs')
  const text = await readDataFile(source, 'a service (.mjs)')
  const trial = await trialOf({
    ...{ file: resolve(source), clock, settings: own.settings, taken: reservedKeywords },
    ...{
      timeLimitMs: own.timeLimitS * 1000,
      memoryMb: own.memoryMb,
      threadEntry: input.threadEntry,
    },
  })
  if (!trial.ok) throw wrong(trial.reason, 'a service that loads')
  const { keyword, summary, usage } = trial.manifest
  const { readiness } = trial
  const beside = [...text.matchAll(/from\s+['"](\.[^'"]+)['"]/g)].map(([, path]) => path!)
  return {
    lines: [
      `${keyword}: ${summary}`,
      `Asked with: ${usage}`,
      ...(readiness === undefined || readiness.state === 'ready'
        ? []
        : [`It is not offered as things are: ${readiness.reason}.`]),
      ...trial.tried.flatMap(({ question, messages }) => [
        `"${question}" is answered with:`,
        ...messages.map((message) => `  ${message}`),
      ]),
      ...(beside.length === 0
        ? []
        : [`It imports files beside it, which you copy: ${beside.join(', ')}`]),
    ],
    rightCount: 1,
    rejectedCount: trial.tried.filter(({ failed }) => failed).length,
    target,
    now: existsSync(target) ? 'it is there already' : 'there is none of this name yet',
    replace: async () => {
      await mkdir(folder, { recursive: true })
      replaceFile(target, text)
    },
  }
}
