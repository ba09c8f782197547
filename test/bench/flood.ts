// How long the main thread is kept from anything else while it is flooded: by an external modem that hears far more than any
// channel carries, and by a KISS client that sends as fast as it can. Real node, database on disk, sockets.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type IntervalHistogram, monitorEventLoopDelay } from 'node:perf_hooks'
import { Worker } from 'node:worker_threads'
import { openRunningNode } from '../../src/cli/run/runNode.js'
import { loadConfig } from '../../src/config/load.js'
import { boundedPort } from '../../src/radio/boundedPort.js'
import { seededRandom } from '../../src/runtime/random.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { clientRecord } from '../../src/setup/clientRecord.js'
import { openConfiguredKiss } from '../../src/setup/kissEnds.js'
import { openRadio } from '../../src/setup/openRadio.js'
import { kissOctets } from '../kiss/plainClient.js'
import { frame } from '../radio/fixtures.js'
import type { Bench } from './bench.js'

const ownCall = 'Q7RDG-10'
const heardPerSecond = 440
const lengthMs = { quick: 15_000, full: 60_000 }

/** Payloads of a flood, by number. */
const floods: Readonly<Record<string, (count: number) => Uint8Array>> = {
  positions: (count) => frame(callOf(count), '!4510.26N/03639.78W['),
  questions: (count) => frame(callOf(count), `:${ownCall.padEnd(9)}:sun{${count % 1000}`),
  'the same question': () => frame('Q4TRL-7', `:${ownCall.padEnd(9)}:sun{7`),
}
const callOf = (count: number): string => `Q${count % 10}${String(count % 400).padStart(3, 'A')}`

export const bench: Bench = {
  name: 'flood',
  about: 'how long a flood of frames keeps the main thread from anything else',
  async run({ quick }) {
    const ms = quick ? lengthMs.quick : lengthMs.full
    console.log(
      `  flood (${ms / 1000} s)                              delay: median   99 %    max (ms)   frames taken`,
    )
    for (const [name, make] of Object.entries(floods))
      await report(`${heardPerSecond} ${name} a second heard`, (folder) =>
        flooded(
          folder,
          ms,
          Array.from({ length: 4000 }, (_, count) => make(count)),
          'modem',
        ),
      )
    await report('a KISS client, as fast as it can', (folder) =>
      flooded(folder, ms, [frame('Q7RDG-1', '>x'.padEnd(60, 'x'))], 'client'),
    )
  },
}

async function report(
  what: string,
  run: (folder: string) => Promise<{ delay: IntervalHistogram; taken: number }>,
): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-flood-'))
  try {
    const { delay, taken } = await run(folder)
    const ms = (ns: number): string => (ns / 1e6).toFixed(0).padStart(8)
    console.log(
      `  ${what.padEnd(54)}${ms(delay.percentile(50))}${ms(delay.percentile(99))}${ms(delay.max)}${String(taken).padStart(15)}`,
    )
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

async function flooded(
  folder: string,
  ms: number,
  frames: readonly Uint8Array[],
  from: 'modem' | 'client',
): Promise<{ delay: IntervalHistogram; taken: number }> {
  const modem = await flooder({
    frames: frames.map((octets) => kissOctets(0, octets)),
    isModem: true,
    perSecond: from === 'modem' ? heardPerSecond : 0,
  })
  const file = join(folder, 'node.toml')
  writeFileSync(
    file,
    `[station]\ncall = "${ownCall}"\n[modem]\nkind = "tcp"\nhost = "127.0.0.1"\nport = ${modem.port}\n[transmit]\nenabled = true\n[kiss.tcp]\nport = 0\n`,
  )
  const config = await loadConfig(file)
  const clock = systemClock()
  const random = seededRandom(1)
  const radio = openRadio(config, 0, folder, { clock, random, onFault: () => {} })
  let ids = 0
  const nextId = (): string => `flood ${++ids}`
  const log = {
    node: () => {},
    radio: () => {},
    note: () => {},
    fault: console.error,
    error: console.error,
    change: () => {},
  }
  const ports = [boundedPort(radio.port, { clock, onDropped: () => {}, onFault: log.fault })]
  const running = await openRunningNode({
    config,
    configFile: file,
    ports,
    clock,
    random,
    nextId,
    log,
  })
  const kiss = await openConfiguredKiss({
    kiss: config.kiss,
    ownCall,
    ports,
    clock,
    nextId,
    record: clientRecord({ store: running.store, clock, onEvent: () => {} }),
  })
  running.node.start()
  const client =
    from === 'client'
      ? await flooder({
          frames: frames.map((octets) => kissOctets(0, octets)),
          isModem: false,
          port: kiss.tcp!.port,
          perSecond: 1e9,
        })
      : undefined
  const delay = monitorEventLoopDelay({ resolution: 10 })
  delay.enable()
  await new Promise((resolve) => setTimeout(resolve, ms))
  delay.disable()
  const taken =
    from === 'client' ? kiss.hub.counters.framesIn : running.node.state().framesHeardCount
  await Promise.all([modem.worker.terminate(), client?.worker.terminate()])
  running.stop()
  await kiss.close()
  await radio.port.close()
  await running.release()
  return { delay, taken }
}

interface Flooder {
  readonly worker: Worker
  readonly port: number
}

/** In a thread of its own: what it floods must not slow it down. */
function flooder(data: {
  frames: readonly Uint8Array[]
  isModem: boolean
  port?: number
  perSecond: number
}): Promise<Flooder> {
  const worker = new Worker(
    `const { workerData, parentPort } = require('node:worker_threads')
     const { createServer, connect } = require('node:net')
     const { frames, isModem, port, perSecond } = workerData
     let at = 0
     const next = () => frames[at++ % frames.length]
     const atPace = (socket) => {
       socket.on('error', () => {})
       socket.resume()
       const began = Date.now()
       let sent = 0
       const fill = () => {
         if (perSecond > 1e6) { while (socket.write(Buffer.concat(Array.from({ length: 100 }, next)))) {} ; return }
         while (sent < ((Date.now() - began) * perSecond) / 1000) { socket.write(next()); sent++ }
       }
       if (perSecond > 1e6) { socket.on('drain', fill); fill() }
       else if (perSecond > 0) setInterval(fill, 10)
     }
     if (isModem) {
       const server = createServer(atPace)
       server.listen(0, '127.0.0.1', () => parentPort.postMessage(server.address().port))
     } else {
       const socket = connect(port, '127.0.0.1', () => { parentPort.postMessage(port); atPace(socket) })
     }`,
    { eval: true, workerData: data },
  )
  return new Promise((resolve, reject) => {
    worker.once('error', reject)
    worker.once('message', (portOfIt: number) => resolve({ worker, port: portOfIt }))
  })
}
