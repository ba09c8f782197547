import { request as httpRequest, type IncomingMessage } from 'node:http'
import { createNode } from '../../src/node/node.js'
import { seededRandom } from '../../src/runtime/random.js'
import type { VirtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { openStore } from '../../src/store/store.js'
import type { PageParts } from '../../src/web/parts.js'
import { type PageServer, type PageSettings, startPage } from '../../src/web/server.js'
import { echoService } from '../node/testNode.js'
import { radio } from '../radio/coreBench.js'
import { ownCall } from '../radio/fixtures.js'

export interface Answer {
  readonly status: number
  readonly headers: IncomingMessage['headers']
  readonly text: string
  // biome-ignore lint/suspicious/noExplicitAny: tests look into it
  json(): any
}

export interface Asking {
  readonly method?: string
  readonly headers?: Readonly<Record<string, string>>
  readonly body?: unknown
  /** as it is, instead of JSON of `body` */
  readonly raw?: string
}

/** A node with one radio on a virtual clock, and its page on a real socket. */
export async function pageBench(
  settings: Partial<PageSettings> = {},
  change: Partial<PageParts> = {},
) {
  const bench = radio()
  const { clock, core } = bench
  const store = openStore({ file: ':memory:', clock })
  let id = 0
  let page: PageServer | undefined
  const node = createNode({
    ports: [core],
    ...{ clock, random: seededRandom(1), store, services: [echoService] },
    nextId: () => `r${++id}`,
    options: defaultNodeOptions({ call: ownCall }),
    onEvent: (event) => page?.node(event),
  })
  page = await startPage(
    {
      ...{ clock, call: ownCall, version: '1.2.3', ports: [core], node, store },
      config: () => ({
        page: { passwordHash: 'secret words', port: 1 },
        station: { call: ownCall },
      }),
      trouble: () => undefined,
      note(event) {
        store.events.add(event)
        page?.node(event)
      },
      ...change,
    },
    {
      ...{ address: '127.0.0.1', port: 0, socket: '', allow: [], hosts: [], public: false },
      ...{ passwordHash: '', token: [], viewersMax: 20 },
      ...settings,
    },
    'boot',
    '/nonexistent',
  )
  core.start()
  node.start()
  await clock.advanceToAsync(1000)
  const place = settings.socket ? { socketPath: settings.socket } : { port: page.port }
  return {
    ...bench,
    ...{ store, node, page },
    ask: (path: string, asking: Asking = {}) => ask(place, path, asking, clock),
    async close() {
      node.stop()
      await page?.close()
      store.close()
    },
  }
}

/** One request; the virtual clock runs until it is answered. */
async function ask(
  place: object,
  path: string,
  { method = 'GET', headers = {}, body, raw }: Asking,
  clock: VirtualClock,
): Promise<Answer> {
  const type = body === undefined ? {} : { 'content-type': 'application/json' }
  let done = false
  const answer = new Promise<Answer>((resolve, reject) => {
    const request = httpRequest(
      { host: '127.0.0.1', ...place, path, method, headers: { ...type, ...headers }, agent: false },
      (response) => {
        const chunks: Buffer[] = []
        response.on('data', (chunk) => chunks.push(chunk))
        response.on('end', () => {
          const text = Buffer.concat(chunks).toString('utf8')
          const { statusCode: status = 0 } = response
          resolve({ status, headers: response.headers, text, json: () => JSON.parse(text) })
        })
        response.on('error', reject)
      },
    )
    request.on('error', reject)
    request.end(raw ?? (body === undefined ? undefined : JSON.stringify(body)))
  }).finally(() => {
    done = true
  })
  while (!done) {
    await new Promise((resume) => setImmediate(resume))
    clock.advanceBy(1)
  }
  return answer
}

export interface Listening {
  readonly text: () => string
  // biome-ignore lint/suspicious/noExplicitAny: tests look into them
  items(): any[]
  /** until this is true of what came */
  until(isThere: () => boolean): Promise<void>
  close(): void
}

/** Reads a stream of events. */
export function listen(
  bench: { readonly page: PageServer; readonly clock: VirtualClock },
  path: string,
  headers: Readonly<Record<string, string>> = {},
): Listening {
  let text = ''
  const request = httpRequest(
    { host: '127.0.0.1', port: bench.page.port, path, headers, agent: false },
    (response) => {
      response.setEncoding('utf8')
      response.on('data', (chunk: string) => {
        text += chunk
      })
      response.on('error', () => {})
    },
  )
  request.on('error', () => {})
  request.end()
  return {
    text: () => text,
    items: () =>
      text
        .split('\n')
        .filter((line) => line.startsWith('data: '))
        .flatMap((line) => JSON.parse(line.slice(6)))
        .filter((item) => item !== 0),
    async until(isThere) {
      const before = process.hrtime.bigint()
      while (!isThere()) {
        if (process.hrtime.bigint() - before > 20_000_000_000n) throw new Error(`not in ${text}`)
        await new Promise((resume) => setImmediate(resume))
        bench.clock.advanceBy(1)
      }
    },
    close: () => request.destroy(),
  }
}
