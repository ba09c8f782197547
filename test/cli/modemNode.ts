import { type ChildProcess, spawn } from 'node:child_process'
import { closeSync, openSync, readFileSync, writeFileSync } from 'node:fs'
import { createServer, type Socket } from 'node:net'
import { join } from 'node:path'
import { kissOctets, type PlainClient, plainClient } from '../kiss/plainClient.js'
import { compiled, waitFor } from '../ptt/helperProcess.js'

/** A node as a process, whose radio is an external modem that the test plays; its log is a file. */
export interface ModemNode {
  readonly child: ChildProcess
  /** what its log says so far */
  log(): string
  /** a KISS client of the node */
  client(): Promise<PlainClient>
  /** the modem hears a frame */
  hear(octets: Uint8Array): void
  /** what the modem was given to send, as KISS octets */
  sent(): Buffer
}

export interface ModemNodeOptions {
  readonly folder: string
  /** more lines of the configuration */
  readonly toml?: string
  /** more arguments of the program, and of node itself */
  readonly words?: readonly string[]
  readonly nodeWords?: readonly string[]
  readonly env?: NodeJS.ProcessEnv
  /** what is to be undone at the end, in this order from behind */
  readonly undo: (() => unknown)[]
}

export const modemNodeCall = 'Q7RDG-10'

/** Starts it, and waits until it listens to both sides. */
export async function startModemNode(options: ModemNodeOptions): Promise<ModemNode> {
  const { folder, undo, words = [], nodeWords = [] } = options
  let modem: Socket | undefined
  const sent: Buffer[] = []
  const server = createServer((socket) => {
    modem = socket.on('error', () => {}).on('data', (chunk: Buffer) => sent.push(chunk))
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  undo.push(
    () => new Promise((resolve) => server.close(resolve)),
    () => modem?.destroy(),
  )
  const { port } = server.address() as { port: number }
  const config = join(folder, 'node.toml')
  writeFileSync(
    config,
    `[station]\ncall = "${modemNodeCall}"\n[modem]\nkind = "tcp"\nhost = "127.0.0.1"\nport = ${port}\n` +
      `[transmit]\nenabled = true\n[kiss.tcp]\nport = 0\n[log]\nlevel = "all"\n${options.toml ?? ''}`,
  )
  const logFile = openSync(join(folder, 'log'), 'w')
  const child = spawn(
    process.execPath,
    [...nodeWords, compiled('src/cli/main.js'), 'run', config, ...words],
    { stdio: ['ignore', logFile, logFile], env: { ...process.env, ...options.env } },
  )
  closeSync(logFile)
  undo.push(() => child.kill('SIGKILL'))
  const log = (): string => readFileSync(join(folder, 'log'), 'utf8')
  const kissPort = await waitFor(() => /KISS over TCP on 127\.0\.0\.1 port (\d+)/.exec(log())?.[1])
  const radio = await waitFor(() => modem)
  await waitFor(() => (/receiving only|sending is enabled/.test(log()) ? true : undefined))
  return {
    child,
    log,
    async client() {
      const one = await plainClient(Number(kissPort))
      undo.push(() => one.close())
      await waitFor(() => (/KISS client .* connected/.test(log()) ? true : undefined))
      return one
    },
    hear: (octets) => void radio.write(kissOctets(0x00, octets)),
    sent: () => Buffer.concat(sent),
  }
}

export const exitOf = (child: ChildProcess): Promise<number | null> =>
  child.exitCode !== null || child.signalCode !== null
    ? Promise.resolve(child.exitCode)
    : new Promise((resolve) => child.once('exit', resolve))
