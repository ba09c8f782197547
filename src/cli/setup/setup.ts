import { accessSync, constants, existsSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import { Command } from 'commander'
import type { Edges } from '../../devices/edges.js'
import { Failure } from '../../runtime/failure.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { openRadio } from '../../setup/openRadio.js'
import { wrapped } from '../shared/finding.js'
import { createEffects, type Effects } from './effects.js'
import { findDevices } from './foundDevices.js'
import { answer, begin, effectDone, type Turn } from './machine.js'
import type { Around } from './session.js'
import { trialSteps } from './trialSteps.js'
import { type TypedAnswers, typedAnswers } from './typedAnswers.js'

/** Where the Debian package's service looks for its configuration. */
const serviceFile = '/etc/ridgepost/node.toml'

/** `ridgepost setup`: questions and trials, and in the end a configuration. */
export function setupCommand(edges: Edges, open: typeof openRadio = openRadio): Command {
  return new Command('setup')
    .description(
      'Asks what a station must know, lists and tries its devices, and writes a configuration. Nothing is keyed without a yes.',
    )
    .argument(
      '[config]',
      `the file to write; node.toml, or ${serviceFile} where the package is installed`,
    )
    .action(async (given: string | undefined) => {
      const file = resolve(given ?? (existsSync(dirname(serviceFile)) ? serviceFile : 'node.toml'))
      refuseWhereItCannot(file, edges)
      await converse(file, edges, open)
    })
}

/** Better said before thirty questions than after. */
function refuseWhereItCannot(file: string, edges: Edges): void {
  if (edges.stdin.isTTY !== true)
    throw new Failure({
      code: 'setup-terminal',
      subject: 'setup',
      problem: 'asks somebody at a terminal, and standard input is none',
      advice: 'type it in a terminal, or write the file by hand: samples/node.toml has every key',
    })
  try {
    accessSync(dirname(file), constants.W_OK | constants.X_OK)
  } catch (cause) {
    throw new Failure({
      code: 'setup-folder',
      subject: dirname(file),
      problem: 'this user may not write there, or it is no folder',
      advice: 'run it with sudo, or name another file: ridgepost setup FILE',
      cause,
    })
  }
}

async function converse(file: string, edges: Edges, open: typeof openRadio): Promise<void> {
  const show = (line: string): void => void edges.stdout.write(`${line}\n`)
  const effects = createEffects(file, edges, show, open)
  const answers = typedAnswers(edges.stdin)
  let isStopped = false
  edges.onStop(() => {
    isStopped = true
    effects.stop()
    show('\nStopping: what was keyed is unkeyed; letting go of the devices takes some seconds.')
    answers.close()
  })
  try {
    const last = await conversation(file, edges, effects, answers, show, () => isStopped)
    if (last.over?.isGood !== true) edges.setExitCode(1)
    if (last.over === undefined)
      show(
        `${isStopped ? 'Stopped' : 'No more answers come'}: nothing is keyed${isWritten(last) ? '' : ', nothing was written'}.`,
      )
  } finally {
    answers.close()
    for (const line of await effects.endKeying()) show(line)
  }
}

/** @returns the last turn; `over` is absent where it was broken off */
async function conversation(
  file: string,
  edges: Edges,
  effects: Effects,
  answers: TypedAnswers,
  show: (line: string) => void,
  isStopped: () => boolean,
): Promise<Turn> {
  let turn = begin(aroundOf(file, edges), await findDevices(edges.env))
  for (;;) {
    const { session, effect, prompt, over } = turn
    // Tones that follow each other at once share their identification.
    if (effect === undefined && session.memo.search === undefined)
      for (const line of await effects.endKeying()) show(line)
    for (const line of turn.lines) for (const part of folded(line)) show(part)
    if (over !== undefined) return turn
    if (effect !== undefined) {
      const result = await effects.run(effect)
      // What became of it is no matter any more; a file that is written stays written.
      if (isStopped()) return { session, lines: [] }
      turn = effectDone(session, effect, result)
      continue
    }
    edges.stdout.write(harmlessText(prompt!))
    const line = await answers.next(keyingSteps.has(session.step))
    if (line === undefined) return turn
    turn = answer(session, line)
  }
}

const keyingSteps = new Set(trialSteps.map(({ id }) => id))
const isWritten = ({ session }: Turn): boolean => session.memo.checking === true

function aroundOf(file: string, { clock }: Edges): Around {
  const stamp = new Date(clock.wallMs()).toISOString().replace(/[-:]|\..*/g, '')
  return {
    file,
    fileIsThere: existsSync(file),
    asideFile: `${file}.before-${stamp}`,
    workingFolder: process.cwd(),
    timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
  }
}

/** Long lines fold under their own indent. */
function folded(line: string): string[] {
  const text = harmlessText(line)
  if (text.length <= 80) return [text]
  const indent = /^ */.exec(text)![0]
  const [first, ...rest] = wrapped(text.slice(indent.length), indent)
  return [first!, ...rest]
}
