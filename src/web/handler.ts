import type { IncomingMessage, ServerResponse } from 'node:http'
import { errorText } from '../runtime/errorText.js'
import { harmlessJson } from '../runtime/harmlessText.js'
import { type Access, mayDo, sessionCookie, type Visitor } from './access.js'
import type { Feed } from './feed.js'
import type { PageFile } from './pageFiles.js'
import type { PageParts } from './parts.js'
import { Refusal } from './refusal.js'
import type { Reply, Route } from './route.js'

export interface HandlerOptions {
  readonly parts: PageParts
  readonly feed: Feed
  readonly routes: readonly Route[]
  readonly files: ReadonlyMap<string, PageFile>
  readonly access: Access
  readonly canLogIn: boolean
  readonly viewersMax: number
  /** of the API */
  readonly description: unknown
}

export type Handler = (request: IncomingMessage, response: ServerResponse) => void

const bodyOctetsMax = 4096

const securityHeaders: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'",
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
}

/** One request after the other: who asks, what he may, what he gets. Whatever is thrown becomes an answer. */
export function createHandler(options: HandlerOptions): Handler {
  const matchers = options.routes.map((route) => ({ route, pattern: patternOf(route.path) }))
  const answer = async (request: IncomingMessage, response: ServerResponse): Promise<void> => {
    const { access, files, feed, viewersMax } = options
    const visitor = access.visitor(request)
    const url = urlOf(request)
    const method = request.method === 'HEAD' ? 'GET' : (request.method ?? 'GET')
    if (method === 'GET') {
      const file = files.get(url.pathname === '/' ? '/index.html' : url.pathname)
      if (file !== undefined) return sendFile(request, response, file)
      if (url.pathname === '/') throw notBuilt()
      if (url.pathname === '/api/v1/openapi.json')
        return sendReply(response, { json: options.description })
    }
    const found = matchers.filter(({ pattern }) => pattern.test(url.pathname))
    const match = found.find(({ route }) => route.method === method)
    if (match === undefined)
      throw found.length === 0
        ? new Refusal(404, 'path', 'There is nothing at this path.')
        : new Refusal(
            405,
            'method',
            `Here it is ${found.map(({ route }) => route.method).join(', ')}.`,
          )
    const { route, pattern } = match
    checkRight(visitor, route, options.canLogIn)
    const at = pathParts(pattern, url.pathname)
    const query = parsed(route.query, Object.fromEntries(url.searchParams), 'query')
    const body = route.body && parsed(route.body, await readBody(request), 'body')
    const reply = await route.handle({
      ...{ parts: options.parts, feed, visitor, canLogIn: options.canLogIn, at, query, body },
      session: sessionCookie(request),
      lastEventId: textOf(request.headers['last-event-id']),
    })
    // Strangers cannot keep out those who look after the node.
    const looking = visitor.right === 'public' ? viewersMax - reservedFor(viewersMax) : viewersMax
    if ('stream' in reply && route.type === eventStreamType && feed.stream.viewerCount >= looking)
      throw new Refusal(503, 'viewers', `${looking} look already (page.viewersMax).`)
    sendReply(response, reply)
  }

  const { clock, note } = options.parts
  let nextFaultMs = Number.NEGATIVE_INFINITY
  const tellFault = (error: unknown): void => {
    if (clock.monotonicMs() < nextFaultMs) return
    nextFaultMs = clock.monotonicMs() + faultEveryMs
    const text = `the page could not answer: ${errorText(error)}`
    note({ atWallMs: clock.wallMs(), kind: 'fault', text })
  }

  return (request, response) => {
    request.on('error', () => {})
    response.on('error', () => {})
    answer(request, response).catch((error: unknown) => {
      if (!(error instanceof Refusal)) tellFault(error)
      sendError(request, response, error)
    })
  }
}

/** Whoever finds a fault may find it as often as he likes; the log is not his. */
const faultEveryMs = 60_000
/** Of the places for viewers, those that whoever reads only what is public does not get. */
const reservedFor = (viewersMax: number): number => Math.min(4, Math.floor(viewersMax / 2))
const eventStreamType = 'text/event-stream'
const notKept = { 'cache-control': 'no-store' }

const notBuilt = (): Refusal =>
  new Refusal(
    503,
    'page-not-built',
    'The page is not built; the API is there. In a clone: npm run build, then start again.',
  )

function checkRight({ right }: Visitor, route: Pick<Route, 'right'>, canLogIn: boolean): void {
  if (mayDo(right, route.right)) return
  const how = canLogIn ? 'Log in first.' : 'No password is configured: see ridgepost password.'
  throw new Refusal(401, 'right', how)
}

function urlOf({ url = '/' }: IncomingMessage): URL {
  if (!URL.canParse(url, 'http://page'))
    throw new Refusal(400, 'path', 'The path is not one of a URL.')
  return new URL(url, 'http://page')
}

const textOf = (value: string | string[] | undefined): string | undefined =>
  typeof value === 'string' && value !== '' ? value : undefined

const patternOf = (path: string): RegExp =>
  new RegExp(`^${path.replaceAll('.', '\\.').replace(/\{(\w+)\}/g, '(?<$1>[^/]{1,80})')}$`)

function pathParts(pattern: RegExp, path: string): Record<string, string> {
  const groups = Object.entries(pattern.exec(path)?.groups ?? {})
  try {
    return Object.fromEntries(groups.map(([name, text]) => [name, decodeURIComponent(text)]))
  } catch {
    throw new Refusal(400, 'path', 'The path is not percent-encoded as it should be.')
  }
}

function parsed(schema: Route['query'], value: unknown, what: string): unknown {
  if (schema === undefined) return undefined
  const result = schema.safeParse(value)
  if (result.success) return result.data
  const [issue] = result.error.issues
  const place = issue?.path.map(String).join('.') ?? ''
  throw new Refusal(
    400,
    what,
    `${place === '' ? what : place}: ${issue?.message ?? 'not understood'}`,
  )
}

async function readBody(request: IncomingMessage): Promise<unknown> {
  const type = (request.headers['content-type'] ?? '').split(';')[0]!.trim().toLowerCase()
  if (type !== 'application/json') throw new Refusal(415, 'content-type', 'Send application/json.')
  const chunks: Buffer[] = []
  let octets = 0
  for await (const chunk of request) {
    octets += (chunk as Buffer).length
    if (octets > bodyOctetsMax)
      throw new Refusal(413, 'body', `More than ${bodyOctetsMax} octets.`, { connection: 'close' })
    chunks.push(chunk as Buffer)
  }
  try {
    return JSON.parse(Buffer.concat(chunks).toString('utf8'))
  } catch {
    throw new Refusal(400, 'body', 'This is not JSON.')
  }
}

function sendReply(response: ServerResponse, reply: Reply): void {
  if ('stream' in reply) {
    response.writeHead(200, { ...securityHeaders, 'content-type': reply.type, ...notKept })
    // Who asks for the head alone would wait for ever.
    if (response.req.method === 'HEAD') response.end()
    else reply.stream(response)
    return
  }
  if ('json' in reply) {
    const octets = Buffer.from(harmlessJson(JSON.stringify(reply.json)))
    send(response, 'status' in reply ? reply.status : 200, octets, {
      'content-type': 'application/json; charset=utf-8',
    })
    return
  }
  if ('text' in reply) {
    const name = reply.fileName
    send(response, 200, Buffer.from(reply.text), {
      'content-type': reply.type,
      ...(name && { 'content-disposition': `attachment; filename="${name}"` }),
    })
    return
  }
  response.writeHead(reply.status, { ...securityHeaders, ...notKept, ...reply.headers })
  response.end()
}

function send(
  response: ServerResponse,
  status: number,
  octets: Uint8Array,
  headers: Readonly<Record<string, string>>,
): void {
  response.writeHead(status, {
    ...{ ...securityHeaders, ...notKept, ...headers },
    'content-length': octets.length,
  })
  response.end(response.req.method === 'HEAD' ? undefined : octets)
}

function sendFile(request: IncomingMessage, response: ServerResponse, file: PageFile): void {
  const zipped = /\bgzip\b/.test(textOf(request.headers['accept-encoding']) ?? '')
  const octets = zipped ? file.gzipped : file.octets
  response.writeHead(200, {
    ...securityHeaders,
    'content-type': file.type,
    'content-length': octets.length,
    'cache-control': file.isLasting ? 'public, max-age=31536000, immutable' : 'no-cache',
    vary: 'accept-encoding',
    ...(zipped && { 'content-encoding': 'gzip' }),
  })
  response.end(request.method === 'HEAD' ? undefined : octets)
}

/** For a person in a browser words, for a program JSON. What is our own fault says no more than that. */
function sendError(request: IncomingMessage, response: ServerResponse, error: unknown): void {
  if (response.headersSent) {
    response.destroy()
    return
  }
  const refusal =
    error instanceof Refusal
      ? error
      : new Refusal(500, 'fault', 'A fault of the program; its log says more.')
  const { status, code, message, headers } = refusal
  const octets = Buffer.from(JSON.stringify({ error: { code, message } }))
  // A body that was not read would be taken for the next request.
  const close = request.complete ? {} : { connection: 'close' }
  send(response, status, octets, {
    ...{ 'content-type': 'application/json; charset=utf-8', ...headers, ...close },
  })
}
