import { createHash } from 'node:crypto'
import { connect, createServer, type Server } from 'node:net'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

/** Lets go of what was locked; another may have it then. */
export type ReleaseLock = () => Promise<void>

/** What kind of thing is locked, and what to say when another process has it. */
export interface LockKind {
  /** part of the lock's name, and of the codes of what is thrown: NAME-taken, NAME-lock */
  readonly name: string
  readonly expected: string
  readonly advice: string
}

/**
 * Locks things for this process, all or none of them.
 *
 * A lock is a name in Linux's abstract socket namespace: the kernel gives a name to one process only, whoever its user is,
 * and takes it back when that process dies in whatever way, so that no stale lock is ever left. Whoever connects is told the
 * process. Elsewhere than on Linux nothing is locked.
 * @param names what stands for each thing; equal names are one lock
 * @param subject what to call it in a message
 * @throws Failure 'NAME-taken', with nothing locked
 * @see unix(7), "Abstract sockets"
 */
export async function lockNames(
  kind: LockKind,
  names: readonly string[],
  subject: string,
  clock: Clock,
): Promise<ReleaseLock> {
  const paths = [...new Set(names)].map((name) => socketPath(kind, name))
  const servers: Server[] = []
  const release: ReleaseLock = async () => {
    await Promise.all(servers.splice(0).map(closed))
  }
  if (process.platform !== 'linux') return release
  try {
    for (const path of paths) servers.push(await listening(path))
  } catch (error) {
    const taken = paths[servers.length]!
    await release()
    throw await lockFailure(error as NodeJS.ErrnoException, taken, kind, subject, clock)
  }
  return release
}

/** Of a fixed length, as a socket's name has little room. */
const socketPath = (kind: LockKind, name: string): string =>
  `\0ridgepost-${kind.name}-${createHash('sha256').update(name).digest('hex')}`

function listening(path: string): Promise<Server> {
  return new Promise((resolve, reject) => {
    const server = createServer((socket) => {
      socket.on('error', () => {})
      socket.end(String(process.pid))
    })
    server.once('error', reject)
    server.listen({ path, exclusive: true }, () => {
      // It is there as long as the process has anything else to do.
      server.unref()
      resolve(server)
    })
  })
}

const closed = (server: Server): Promise<void> =>
  new Promise((resolve) => {
    server.close(() => resolve())
  })

async function lockFailure(
  error: NodeJS.ErrnoException,
  path: string,
  kind: LockKind,
  subject: string,
  clock: Clock,
): Promise<Failure> {
  if (error.code !== 'EADDRINUSE')
    return new Failure({
      code: `${kind.name}-lock`,
      subject,
      got: `no lock (${errorText(error)})`,
      expected: 'a lock, so that no other program uses it at the same time',
      advice:
        'it is a socket of the kernel: see that AF_UNIX is allowed, and that Node is up to date',
      cause: error,
    })
  const holder = await holderOf(path, clock)
  return new Failure({
    code: `${kind.name}-taken`,
    subject,
    got: holder === undefined ? 'another process that has it' : `process ${holder} that has it`,
    expected: kind.expected,
    advice: kind.advice,
    cause: error,
  })
}

const answerMsMax = 1000

/** The process that has a lock, if it says so in time. */
function holderOf(path: string, clock: Clock): Promise<string | undefined> {
  return new Promise((resolve) => {
    let told = ''
    const socket = connect(path)
    const done = (): void => {
      cancel()
      socket.destroy()
      resolve(/^\d{1,10}$/.test(told) ? told : undefined)
    }
    const cancel = clock.at(clock.monotonicMs() + answerMsMax, done)
    socket.setEncoding('utf8').on('data', (text: string) => {
      told = (told + text).slice(0, 20)
    })
    socket.on('error', () => {})
    socket.on('close', done)
  })
}
