import { connect, createServer, type Socket } from 'node:net'
import { listenAtPath } from '../devices/unixSocket.js'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { type OperatorReply, type OperatorRequest, operatorRequest } from './operatorCommands.js'

/** Octets of one request; more is nobody that we know. */
const requestOctetsMax = 4096
const clientsMax = 8
/** A client that has not asked by then is let go. */
const idleMs = 10_000
/** A node that is stopping, or busy with a large file, may take its time. */
const answerMs = 15_000

type AnswerOperator = (request: OperatorRequest) => OperatorReply | Promise<OperatorReply>

/** Where `ridgepost hold`, `release`, `state`, `say`, `beacon` and `reload` reach the running node. */
export interface OperatorSocket {
  close(): Promise<void>
}

/**
 * Listens on a Unix socket that its owner and its group may use, nobody else. One request a connection: a line of JSON each way.
 * @throws Failure 'operator-socket' when it cannot be had
 */
export async function openOperatorSocket(
  path: string,
  clock: Clock,
  answer: AnswerOperator,
): Promise<OperatorSocket> {
  const clients = new Set<Socket>()
  const server = createServer((socket) => {
    clients.add(socket)
    socket.once('close', () => clients.delete(socket))
    socket.on('error', () => socket.destroy())
    const cancelIdle = clock.at(clock.monotonicMs() + idleMs, () => socket.destroy())
    socket.once('close', cancelIdle)
    if (clients.size > clientsMax) socket.destroy()
    else serve(socket, answer)
  })
  try {
    await listenAtPath(server, path)
  } catch (error) {
    throw notHad(path, errorText(error))
  }
  server.on('error', () => {})
  return {
    close: () =>
      new Promise((resolve) => {
        for (const socket of clients) socket.destroy()
        server.close(() => resolve())
      }),
  }
}

function serve(socket: Socket, answer: AnswerOperator): void {
  let text = ''
  socket.setEncoding('utf8').on('data', (part: string) => {
    text += part
    const end = text.indexOf('\n')
    if (end < 0 && text.length <= requestOctetsMax) return
    socket.removeAllListeners('data')
    const reply = end < 0 ? Promise.resolve(malformed) : replyTo(text.slice(0, end), answer)
    void reply.then((one) => socket.end(`${JSON.stringify(one)}\n`))
  })
}

const malformed: OperatorReply = {
  ok: false,
  lines: ['This is not a request of this version of ridgepost.'],
}

async function replyTo(line: string, answer: AnswerOperator): Promise<OperatorReply> {
  try {
    const parsed = operatorRequest.safeParse(JSON.parse(line))
    return parsed.success ? await answer(parsed.data) : malformed
  } catch (error) {
    return { ok: false, lines: [`It failed: ${errorText(error)}`] }
  }
}

const notHad = (path: string, got: string): Failure =>
  new Failure({
    code: 'operator-socket',
    subject: `operator.socket ${path}`,
    got,
    expected: 'a path at which a socket can be made, in a folder that the service may write to',
  })

/**
 * Asks the running node.
 * @throws Failure 'operator-socket' when nobody answers there
 */
export function askRunningNode(
  path: string,
  clock: Clock,
  request: OperatorRequest,
): Promise<OperatorReply> {
  return new Promise((resolve, reject) => {
    const socket = connect(path)
    let text = ''
    const fail = (got: string): void => {
      socket.destroy()
      reject(
        new Failure({
          code: 'operator-socket',
          subject: path,
          got,
          expected: 'a running node that listens there',
          advice:
            'is `ridgepost run` running with this configuration, and are you in the group of the socket?',
        }),
      )
    }
    const cancelIdle = clock.at(clock.monotonicMs() + answerMs, () => fail('no answer'))
    socket.once('close', cancelIdle)
    socket.once('error', (error: NodeJS.ErrnoException) => fail(connectWords(error)))
    socket.setEncoding('utf8').on('data', (part: string) => {
      text += part
    })
    socket.once('connect', () => socket.write(`${JSON.stringify(request)}\n`))
    socket.once('end', () => {
      try {
        resolve(JSON.parse(text) as OperatorReply)
      } catch {
        fail('an answer that is cut short')
      }
    })
  })
}

function connectWords(error: NodeJS.ErrnoException): string {
  switch (error.code) {
    case 'ENOENT':
      return 'no socket of this name'
    case 'ECONNREFUSED':
      return 'a socket at which nobody listens'
    case 'EACCES':
      return 'no permission to use it'
    default:
      return errorText(error)
  }
}
