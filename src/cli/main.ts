#!/usr/bin/env node
// The composition root: the only file that builds a real clock, real randomness and the real streams.
import { Command, CommanderError } from 'commander'
import type { Edges } from '../devices/edges.js'
import { isJournal, journalPriority } from '../devices/journal.js'
import { steadyOutput, writeTo } from '../devices/steadyOutput.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { harmlessLines } from '../runtime/harmlessText.js'
import { programVersion, wantedNode } from '../runtime/installation.js'
import { oldNodeMessage } from '../runtime/nodeVersion.js'
import { restfulEnd } from '../runtime/restfulEnd.js'
import { systemClock } from '../runtime/systemClock.js'
import { commands, configArgument } from './commands.js'
import { UsageError } from './shared/usageError.js'

const clock = systemClock()
const standardError = 2
/** Nobody's session: SIGHUP is then what `systemctl reload` sends. */
const isService = process.env.NOTIFY_SOCKET !== undefined && process.stdin.isTTY !== true

const edges: Edges = {
  clock,
  random: Math.random,
  stdin: process.stdin,
  stdout: process.stdout,
  stderr: process.stderr,
  log: steadyOutput(writeTo(standardError), clock),
  logIsJournal: isJournal(process.env.JOURNAL_STREAM, standardError),
  env: process.env,
  setExitCode: (code) => {
    process.exitCode = code
  },
  onUncaught: (caught) => void process.on('uncaughtException', caught),
  onStop: (stop) => {
    process.once('SIGINT', stop)
    process.once('SIGTERM', stop)
    // A session that closes tells of it more than once (the kernel, then the shell), and nobody is there to insist: what
    // follows the first is no wish to end at once, as a second Ctrl-C is.
    if (!isService) process.once('SIGHUP', stop)
    process.on('SIGHUP', () => {})
  },
  onReload(reload) {
    if (isService) process.on('SIGHUP', reload)
  },
}

// `… | head`: a reader that leaves is no error, and must never end a node that runs.
for (const stream of [process.stdout, process.stderr])
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE' || stream.listenerCount('error') > 1) return
    process.exitCode = 1
    if (stream === process.stdout)
      process.stderr.write(`ridgepost: standard output: ${errorText(error)}\n`)
  })

async function main(commandArguments: string[]): Promise<void> {
  const tooOld = oldNodeMessage(process.versions.node, wantedNode())
  if (tooOld !== undefined) {
    edges.stderr.write(`ridgepost: ${tooOld}\n`)
    process.exitCode = 1
    return
  }
  const program = new Command('ridgepost')
    .description('Packet-radio service node: hears 1200 baud AFSK, answers out of its own data.')
    .version(programVersion(), '--version')
    .exitOverride()
    .configureOutput({ writeErr: (text) => edges.stderr.write(text) })
  const [first = '', ...rest] = commandArguments
  // `help run` is `run --help`: a summary alone would not tell its options.
  const [named, words] = first === 'help' ? [rest[0] ?? '', ['--help']] : [first, rest]
  const entry = Object.hasOwn(commands, named) ? commands[named] : undefined
  if (entry === undefined) {
    // Names and summaries are enough for the help, and for saying that there is no such command.
    for (const [name, { summary }] of Object.entries(commands))
      program.addCommand(new Command(name).description(summary).exitOverride())
    await program.parseAsync(commandArguments, { from: 'user' })
    return
  }
  program.addCommand((await entry.load())(edges).exitOverride())
  await program.parseAsync([named, ...configArgument(entry.config, words)], { from: 'user' })
  await restfulEnd(clock, usedMs)
}

/** CPU time of all threads. */
function usedMs(): number {
  const { user, system } = process.cpuUsage()
  return (user + system) / 1000
}

main(process.argv.slice(2)).catch((error: unknown) => {
  if (error instanceof CommanderError) {
    // commander has said what was wrong; help that was asked for is no error
    process.exitCode = error.exitCode === 0 ? 0 : 2
    return
  }
  const text = error instanceof Failure ? error.message : `unexpected: ${errorText(error)}`
  const priority = edges.logIsJournal ? `<${journalPriority.error}>` : ''
  edges.stderr.write(`${priority}ridgepost: ${harmlessLines(text)}\n`)
  process.exitCode = error instanceof UsageError ? 2 : 1
})
