import { PassThrough } from 'node:stream'
import type { Command } from 'commander'
import { UsageError } from '../../src/cli/shared/usageError.js'
import type { Edges } from '../../src/devices/edges.js'
import { Failure } from '../../src/runtime/failure.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

/** What a command wrote, and what its process would have exited with. */
export interface CommandRun {
  readonly stdout: string
  readonly stderr: string
  readonly exitCode: 0 | 1 | 2
}

/** Runs a command in this process, with edges of its own, as main.ts would. */
export async function runCommand(
  build: (edges: Edges) => Command,
  commandArguments: readonly string[],
  change: Partial<Edges> = {},
): Promise<CommandRun> {
  let exitCode: 0 | 1 | 2 = 0
  const [stdout, stderr] = [collector(), collector()]
  const command = build({
    clock: virtualClock(),
    random: seededRandom(1),
    stdin: new PassThrough(),
    stdout: stdout.stream,
    stderr: stderr.stream,
    log: {
      write: (line) => void stderr.stream.write(line),
      flush: async () => {},
      listen: () => {},
      lostCount: 0,
    },
    logIsJournal: false,
    env: {},
    setExitCode: (code) => {
      exitCode = code
    },
    onUncaught: () => {},
    onStop: () => {},
    onReload: () => {},
    ...change,
  })
  command.exitOverride().configureOutput({
    writeErr: (text) => void stderr.stream.write(text),
    writeOut: (text) => void stdout.stream.write(text),
  })
  try {
    await command.parseAsync([...commandArguments], { from: 'user' })
  } catch (error) {
    if (error instanceof Failure) {
      stderr.stream.write(`ridgepost: ${error.message}\n`)
      exitCode = error instanceof UsageError ? 2 : 1
    } else if (isCommanderError(error)) exitCode = error.exitCode === 0 ? 0 : 2
    else throw error
  }
  return { stdout: stdout.text(), stderr: stderr.text(), exitCode }
}

const isCommanderError = (error: unknown): error is { exitCode: number } =>
  error instanceof Error && 'exitCode' in error

function collector() {
  const stream = new PassThrough()
  const chunks: Buffer[] = []
  stream.on('data', (chunk: Buffer) => chunks.push(chunk))
  return { stream, text: () => Buffer.concat(chunks).toString('utf8') }
}
