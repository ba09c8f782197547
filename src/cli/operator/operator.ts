import { userInfo } from 'node:os'
import { dirname, resolve } from 'node:path'
import { Command } from 'commander'
import { loadConfig } from '../../config/load.js'
import type { Edges } from '../../devices/edges.js'
import { Failure } from '../../runtime/failure.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import type { OperatorRequest } from '../../setup/operatorCommands.js'
import { askRunningNode } from '../../setup/operatorSocket.js'

interface OperatorFlags {
  readonly config: string
  readonly socket?: string
}

const holdNote = `
It stops all sending at once, and a restart does not end it. So do the hold file, the hold switch and the radio's own power
switch; each holds for itself, and \`release\` ends this one only.
`

/** `ridgepost hold`: nothing is sent, for a time or until released. */
export const holdCommand = (edges: Edges): Command =>
  toRunningNode('hold', 'Stop all sending of the running node, for a time or until it is released.')
    .argument('[time]', 'how long: 30m, 2h, 1d; without it until released')
    .addHelpText('after', holdNote)
    .action((time: string | undefined, flags: OperatorFlags) =>
      ask(edges, flags, 'hold', time === undefined ? [] : [time]),
    )

/** `ridgepost release`: ends the operator's hold. */
export const releaseCommand = (edges: Edges): Command =>
  toRunningNode('release', "End the operator's hold of the running node.").action(
    (flags: OperatorFlags) => ask(edges, flags, 'release', []),
  )

/** `ridgepost state`: what the running node does. */
export const stateCommand = (edges: Edges): Command =>
  toRunningNode('state', 'Say what the running node does: radios, holds, duty, what waits.').action(
    (flags: OperatorFlags) => ask(edges, flags, 'state', []),
  )

/** `ridgepost reload`: reads the configuration again. */
export const reloadCommand = (edges: Edges): Command =>
  toRunningNode(
    'reload',
    'Have the running node read its configuration again: what can change is taken over, the rest is named.',
  ).action((flags: OperatorFlags) => ask(edges, flags, 'reload', []))

/** `ridgepost say`: a message as the station. */
export const sayCommand = (edges: Edges): Command =>
  toRunningNode('say', 'Send a message as the station, repeated until it is acknowledged.')
    .argument('<call>', 'call sign of the receiver')
    .argument('<text...>', 'at most 67 characters')
    .action((call: string, text: string[], flags: OperatorFlags) =>
      ask(edges, flags, 'say', [call, text.join(' ')]),
    )

/** `ridgepost beacon`: a beacon now. */
export const beaconCommand = (edges: Edges): Command =>
  toRunningNode('beacon', 'Send a beacon of the running node now.')
    .argument(
      '[kind]',
      'position, status, capabilities, services, notices, objects, telemetry',
      'position',
    )
    .action((kind: string, flags: OperatorFlags) => ask(edges, flags, 'beacon', [kind]))

/** `ridgepost tactical`: who holds the tactical names of the event. */
export const tacticalCommand = (edges: Edges): Command =>
  toRunningNode(
    'tactical',
    'Say who holds a tactical name of the event from now on; without a name, list them.',
  )
    .argument('[name]', 'tactical name, such as CHECK3')
    .argument(
      '[call]',
      'call sign that holds it; - for nobody, file for whoever the file names',
      'file',
    )
    .action((name: string | undefined, call: string, flags: OperatorFlags) =>
      ask(edges, flags, 'tactical', name === undefined ? [] : [name, call]),
    )

/** `ridgepost entries`: what goes from node to node. */
export const entriesCommand = (edges: Edges): Command =>
  toRunningNode(
    'entries',
    'List messages, letters, notices and reports that other nodes have handed over or taken, newest first.',
  )
    .argument('[words...]', 'only those with this in an id, a call, a text or a state')
    .option('--withdraw <id>', 'end this one here, and have every node that holds it end it')
    .action((words: string[], flags: OperatorFlags & { readonly withdraw?: string }) =>
      flags.withdraw === undefined
        ? ask(edges, flags, 'entries', [words.join(' ')])
        : ask(edges, flags, 'withdraw', [flags.withdraw]),
    )

const toRunningNode = (name: string, about: string): Command =>
  new Command(name)
    .description(about)
    .option(
      '--config <file>',
      'configuration of the running node, for its operator.socket',
      'node.toml',
    )
    .option('--socket <path>', 'the socket itself, without a configuration')

async function ask(
  edges: Edges,
  flags: OperatorFlags,
  command: OperatorRequest['command'],
  words: string[],
): Promise<void> {
  const reply = await askRunningNode(await socketOf(flags), edges.clock, {
    command,
    words,
    who: ownName(),
  })
  const output = reply.ok ? edges.stdout : edges.stderr
  for (const line of reply.lines) output.write(`${harmlessText(line)}\n`)
  if (!reply.ok) edges.setExitCode(1)
}

async function socketOf({ config: file, socket }: OperatorFlags): Promise<string> {
  if (socket !== undefined) return resolve(socket)
  const { operator } = await loadConfig(file)
  if (operator.socket !== '') return resolve(dirname(resolve(file)), operator.socket)
  throw new Failure({
    code: 'operator-off',
    subject: file,
    got: 'no operator.socket',
    expected: 'the path of the socket at which the running node listens',
    advice:
      'add [operator] socket = "/run/ridgepost/operator" and start the node again, or give --socket PATH',
  })
}

/** Of the one who types; a service without a name in the user list still has a number. */
function ownName(): string {
  try {
    return userInfo().username
  } catch {
    return `user ${process.getuid?.() ?? '?'}`
  }
}
