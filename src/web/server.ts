import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http'
import type { AddressInfo } from 'node:net'
import { listenAtPath } from '../devices/unixSocket.js'
import { isLoopback } from '../kiss/allowList.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import type { NodeEvent } from '../store/events.js'
import { createAccess } from './access.js'
import { createFeed } from './feed.js'
import { createHandler, type Handler } from './handler.js'
import { openApi } from './openapi.js'
import { readPageFiles } from './pageFiles.js'
import type { PageParts } from './parts.js'
import { allRoutes } from './routes.js'
import { sessionRoutes } from './sessionRoutes.js'
import { createSessions } from './sessions.js'
import { createTries } from './tries.js'

/** As in the configuration's table `page`. */
export interface PageSettings {
  readonly address: string
  readonly port: number
  readonly socket: string
  readonly allow: readonly string[]
  readonly hosts: readonly string[]
  readonly public: boolean
  readonly passwordHash: string
  readonly token: readonly {
    readonly name: string
    readonly sha256: string
    readonly scope: 'read' | 'control'
  }[]
  readonly viewersMax: number
}

export interface PageServer {
  /** where it is, for a person */
  readonly place: string
  readonly port: number | undefined
  /** tells those who look what the node tells */
  node(event: NodeEvent): void
  close(): Promise<void>
}

const headersTimeoutMs = 10_000
const requestTimeoutMs = 15_000
const keepAliveTimeoutMs = 10_000
const headerOctetsMax = 8192
const connectionsMax = 200

/**
 * Serves the page.
 * @param boot unlike that of any other run
 * @param folder of the page as it was built; without it there is the API alone
 * @throws Failure 'page-listen-open' beyond loopback without an allow-list, 'page-listen' when the place cannot be had
 */
export async function startPage(
  parts: PageParts,
  settings: PageSettings,
  boot: string,
  folder: string,
): Promise<PageServer> {
  const { clock } = parts
  checkPlace(settings)
  const sessions = createSessions(clock)
  const feed = createFeed(parts, boot)
  const routes = [
    ...allRoutes(parts.tryIt !== undefined),
    ...sessionRoutes({
      ...{ sessions, tries: createTries(clock), passwordHash: settings.passwordHash },
      note: (event) => parts.note({ ...event, atWallMs: clock.wallMs() }),
    }),
  ]
  parts.tryIt?.onChange(() =>
    feed.stream.publish({ type: 'try', at: clock.wallMs(), state: parts.tryIt!.state() }),
  )
  const handler = createHandler({
    ...{ parts, feed, routes, files: readPageFiles(folder) },
    access: createAccess({
      ...{ viaSocket: settings.socket !== '', allow: settings.allow, isPublic: settings.public },
      hosts: [...settings.hosts, settings.address],
      ...{ tokens: settings.token, sessions },
    }),
    canLogIn: settings.passwordHash !== '',
    viewersMax: settings.viewersMax,
    description: openApi(routes, parts.version),
  })
  const server = httpServer(handler)
  await listen(server, settings)
  const address = server.address()
  const port = typeof address === 'object' ? (address as AddressInfo).port : undefined
  return {
    ...{ port, node: (event) => feed.node(event) },
    place: port === undefined ? settings.socket : `http://${urlHost(settings.address)}:${port}/`,
    async close() {
      feed.close()
      const closed = new Promise<void>((resolve) => server.close(() => resolve()))
      server.closeAllConnections()
      await closed
    },
  }
}

function httpServer(handler: Handler): Server {
  const server = createServer(
    {
      headersTimeout: headersTimeoutMs,
      requestTimeout: requestTimeoutMs,
      keepAliveTimeout: keepAliveTimeoutMs,
      maxHeaderSize: headerOctetsMax,
      connectionsCheckingInterval: 5000,
    },
    (request: IncomingMessage, response: ServerResponse) => handler(request, response),
  )
  server.maxConnections = connectionsMax
  server.on('clientError', (_, socket) => {
    if (socket.writable) socket.end('HTTP/1.1 400 Bad Request\r\nConnection: close\r\n\r\n')
  })
  return server
}

function checkPlace({ address, allow, socket }: PageSettings): void {
  if (socket !== '' || isLoopback(address) || allow.length > 0) return
  throw new Failure({
    code: 'page-listen-open',
    subject: 'page.address',
    got: `${address} without page.allow`,
    expected: 'an allow-list for anything beyond loopback',
    advice: 'name the addresses that may look, such as allow = ["192.168.7.0/24"]',
  })
}

async function listen(server: Server, { address, port, socket }: PageSettings): Promise<void> {
  try {
    if (socket !== '') await listenAtPath(server, socket)
    else
      await new Promise<void>((resolve, reject) => {
        server.once('error', reject)
        server.listen(port, address, resolve)
      })
  } catch (cause) {
    throw new Failure({
      code: 'page-listen',
      subject: socket === '' ? `the page at ${address}:${port}` : `the page at ${socket}`,
      problem: `cannot be opened: ${errorText(cause)}`,
      advice: `choose another page.${socket === '' ? 'port' : 'socket'}, or set page.enabled = false`,
      cause,
    })
  }
  server.removeAllListeners('error')
  server.on('error', () => {})
}

const urlHost = (address: string): string => (address.includes(':') ? `[${address}]` : address)
