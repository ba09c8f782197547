import { pathToFileURL } from 'node:url'
import { Worker } from 'node:worker_threads'
import type { Cancel, Clock } from '../../runtime/clock.js'
import { entryFile } from '../../runtime/installation.js'
import type {
  OwnCall,
  OwnContextData,
  OwnManifest,
  OwnReadiness,
  OwnReadyNow,
  OwnReply,
  OwnRequest,
} from './ownProtocol.js'

export interface OwnThreadOptions {
  readonly file: string
  readonly clock: Clock
  /** for loading, and for each answer */
  readonly timeLimitMs: number
  readonly memoryMb: number
  /** what the service prints, a line at a time */
  readonly onOutput: (line: string) => void
  /** file that the thread begins with; ours when left out */
  readonly entry?: URL | undefined
}

export type Answered = Pick<
  Extract<OwnReply, { kind: 'answer' }>,
  'answer' | 'messagesMax' | 'effects'
>

/** One own service in its thread. */
export interface OwnThread {
  readonly manifest: OwnManifest
  /** @throws Error that says why there is no answer; the next question finds a fresh thread if this one had to go */
  ask(call: OwnCall, context: OwnContextData): Promise<Answered>
  /** @throws Error as ask */
  ready(now: OwnReadyNow): Promise<OwnReadiness>
  close(): Promise<void>
}

interface Running {
  readonly worker: Worker
  readonly manifest: Promise<OwnManifest>
  readonly open: Map<number, { resolve(reply: Replied): void; reject(error: Error): void }>
}

type Replied = Extract<OwnReply, { kind: 'answer' | 'readiness' }>
type Asked<Request = OwnRequest> = Request extends unknown ? Omit<Request, 'number'> : never

/**
 * Starts the thread and waits until the service has said what it is.
 * @throws Error that says in words why it cannot be used
 */
export async function openOwnThread(options: OwnThreadOptions): Promise<OwnThread> {
  const { clock, timeLimitMs } = options
  let running: Running | undefined = start(options, forget)
  let number = 0

  function forget(gone: Running): void {
    if (running === gone) running = undefined
  }
  const end = (gone: Running): Promise<unknown> => {
    forget(gone)
    return gone.worker.terminate()
  }
  const within = async <T>(thread: Running, doing: string, work: Promise<T>): Promise<T> => {
    let cancel: Cancel = () => {}
    const late = new Promise<never>((_, reject) => {
      cancel = clock.at(clock.monotonicMs() + timeLimitMs, () => {
        reject(new Error(`${doing} took longer than ${timeLimitMs / 1000} s`))
        void end(thread)
      })
    })
    try {
      return await Promise.race([work, late])
    } finally {
      cancel()
    }
  }

  const ask = async (asked: Asked, doing: string): Promise<Replied> => {
    running ??= start(options, forget)
    const thread = running
    const request: OwnRequest = { number: number++, ...asked }
    await within(thread, 'loading', thread.manifest)
    const replied = new Promise<Replied>((resolve, reject) => {
      thread.open.set(request.number, { resolve, reject })
    })
    thread.worker.postMessage(request)
    try {
      return await within(thread, doing, replied)
    } finally {
      thread.open.delete(request.number)
    }
  }

  const first = running
  let manifest: OwnManifest
  try {
    manifest = await within(first, 'loading', first.manifest)
  } catch (error) {
    await end(first)
    throw error
  }
  return {
    manifest,
    ask: async (call, context) => (await ask({ call, context }, 'the answer')) as Answered,
    async ready(now) {
      const replied = await ask({ call: { kind: 'ready' }, now }, 'ready')
      return (replied as Extract<OwnReply, { kind: 'readiness' }>).readiness
    },
    async close() {
      if (running !== undefined) await end(running)
    },
  }
}

/** The thread's own file; a source, as tests run it, must first learn to read TypeScript. */
function threadEntry(given: URL | undefined): {
  readonly entry: URL | string
  readonly isText: boolean
} {
  const entry = given ?? pathToFileURL(entryFile('ownWorker'))
  if (!entry.pathname.endsWith('.ts')) return { entry, isText: false }
  const text = `import('tsx/esm/api').then((tsx) => { tsx.register(); return import('${entry.href}') })`
  return { entry: text, isText: true }
}

function start(options: OwnThreadOptions, onGone: (gone: Running) => void): Running {
  const { entry, isText } = threadEntry(options.entry)
  const worker = new Worker(entry, {
    eval: isText,
    workerData: { file: options.file },
    resourceLimits: { maxOldGenerationSizeMb: options.memoryMb },
    stdout: true,
    stderr: true,
  })
  worker.unref()
  const open: Running['open'] = new Map()
  let ready: (manifest: OwnManifest) => void = () => {}
  let unusable: (error: Error) => void = () => {}
  const manifest = new Promise<OwnManifest>((resolve, reject) => {
    ready = resolve
    unusable = reject
  })
  // Whoever waits sees it; a service that nobody asks at the moment must not end the process.
  manifest.catch(() => {})
  const thread: Running = { worker, manifest, open }

  worker.on('message', (reply: OwnReply) => {
    if (reply.kind === 'ready') ready(reply.manifest)
    else if (reply.kind === 'unusable') unusable(new Error(reply.reason))
    else if (reply.kind === 'failed') open.get(reply.number)?.reject(new Error(reply.reason))
    else open.get(reply.number)?.resolve(reply)
  })
  const gone = (reason: string): void => {
    onGone(thread)
    unusable(new Error(reason))
    for (const one of open.values()) one.reject(new Error(reason))
  }
  worker.on('error', (error: Error) => gone(`it broke: ${error.message}`))
  worker.on('exit', () => gone('it ended'))
  const print = printer(options)
  for (const stream of [worker.stdout, worker.stderr]) {
    stream.setEncoding('utf8')
    stream.on('data', (text: string) => {
      for (const line of text.split('\n')) if (line !== '') print(line)
    })
  }
  return thread
}

const linesPerMinuteMax = 60
const lineCharactersMax = 300

/** A service that prints without end must not fill the log: what is too much is counted. */
function printer({ clock, onOutput }: OwnThreadOptions): (line: string) => void {
  let minuteFromMs = clock.monotonicMs()
  let count = 0
  return (line) => {
    if (clock.monotonicMs() - minuteFromMs >= 60_000) {
      if (count > linesPerMinuteMax) onOutput(`(${count - linesPerMinuteMax} more lines left out)`)
      minuteFromMs = clock.monotonicMs()
      count = 0
    }
    count++
    if (count <= linesPerMinuteMax) onOutput(line.slice(0, lineCharactersMax))
  }
}
