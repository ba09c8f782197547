// What a live radio costs beside the same audio in a recording, and what each further radio takes of memory: the real
// program, `run`, hears audio that comes over TCP as a sound card's would, 20 ms at a time.
import { type ChildProcess, spawn } from 'node:child_process'
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { type AddressInfo, createServer, type Server, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { createWav } from '../../src/audio/wavWriter.js'
import type { Bench } from './bench.js'
import { decode } from './decode.js'
import { memoryMb, memoryParts } from './memoryParts.js'
import { recording, sampleRateHz } from './receiverParts.js'

const periodMs = 20
const audioS = 30
/**
 * Hot loops are compiled while they run, for some minutes at the pace of audio (four threads took a seventh of all CPU time in the
 * second minute): what is measured, here and of `decode`, comes after so much of it.
 * Begun after one minute it gave 2.6 times the recording where four minutes gave 1.8; eight radios on a loaded machine 3.3 after
 * three minutes, 1.6 and 1.8 after four.
 */
const warmS = 240
/** Further audio of a recording that is measured, and how often. */
const moreS = 360
const rounds = 3

export const bench: Bench = {
  name: 'live-cost',
  about:
    'CPU time of a live radio beside the same audio in a recording; memory by number of radios',
  async run({ seed, quick }) {
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-live-'))
    try {
      const { audio } = recording(audioS, seed)
      const octets = Buffer.from(encodePcm(audio, 's16le'))
      const measuredS = quick ? 30 : 120
      for (const count of quick ? [1, 8] : [1, 2, 4, 8])
        await measure(folder, octets, count, measuredS)
    } finally {
      rmSync(folder, { recursive: true })
    }
  },
}

async function measure(folder: string, octets: Buffer, count: number, measuredS: number) {
  const feed = await openFeed(octets)
  const node = startNode(folder, feed.port, count)
  try {
    await feed.connected(count)
    await pause(warmS * 1000)
    const before = threadsOf(node.pid!)
    const [recordingS] = await Promise.all([
      costOfRecording(folder, octets),
      pause(measuredS * 1000),
    ])
    const used = differences(before, threadsOf(node.pid!))
    const total = used.reduce((sum, { cpuS }) => sum + cpuS, 0)
    const perRadio = total / measuredS / count
    console.log(
      `${count} radio${count > 1 ? 's' : ''}: ${perRadio.toFixed(4)} CPU s per s of audio each; ` +
        `the recording ${recordingS.toFixed(4)} (${(perRadio / recordingS).toFixed(1)} times); ` +
        `${memoryMb(node.pid!).toFixed(0)} MB`,
    )
    const parts = Object.entries(memoryParts(node.pid!))
    console.log(
      `    of these MB: ${parts.map(([name, mb]) => `${name} ${mb.toFixed(0)}`).join(', ')}`,
    )
    for (const { name, cpuS, switches } of used.slice(0, 3))
      console.log(
        `    thread ${name}: ${(cpuS / measuredS).toFixed(4)} CPU s per s, woken ${(switches / measuredS).toFixed(0)} times a second`,
      )
  } finally {
    node.kill('SIGTERM')
    await new Promise((resolve) => node.once('exit', resolve))
    feed.server.close()
  }
}

export const pause = (ms: number): Promise<void> => new Promise((resume) => setTimeout(resume, ms))

/** Sends each connection the audio, at its own pace, from its beginning and over again. */
export async function openFeed(octets: Buffer): Promise<{
  server: Server
  port: number
  connected(count: number): Promise<void>
}> {
  const sockets = new Set<Socket>()
  const periodOctets = (2 * sampleRateHz * periodMs) / 1000
  const server = createServer((socket) => {
    sockets.add(socket)
    const startMs = performance.now()
    let sent = 0
    const timer = setInterval(() => {
      for (; sent * periodMs <= performance.now() - startMs; sent++) {
        const at = (sent * periodOctets) % (octets.length - periodOctets)
        socket.write(octets.subarray(at, at + periodOctets))
      }
    }, periodMs)
    socket.setNoDelay(true).on('error', () => {})
    socket.once('close', () => {
      clearInterval(timer)
      sockets.delete(socket)
    })
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  return {
    server,
    port: (server.address() as AddressInfo).port,
    async connected(count) {
      while (sockets.size < count) await pause(50)
    },
  }
}

/** @param more of its configuration; without one, a KISS port that no other node on this machine has */
export function startNode(
  folder: string,
  port: number,
  count: number,
  more = '[kiss.tcp]\nport = 0\n',
): ChildProcess {
  const radio = (number: number): string =>
    `[[radio]]\nname = "r${number}"\n[radio.audio]\ninput = "tcp:127.0.0.1:${port}"\nrateHz = ${sampleRateHz}\n`
  const config = join(folder, 'node.toml')
  writeFileSync(
    config,
    `[station]\ncall = "N0CALL"\n[store]\nfile = ":memory:"\n${more}${Array.from({ length: count }, (_, at) => radio(at)).join('')}`,
  )
  const main = fileURLToPath(new URL('../../dist/bundle/ridgepost.js', import.meta.url))
  const node = spawn(process.execPath, [main, 'run', config], {
    stdio: ['ignore', 'ignore', 'pipe'],
  })
  let told = ''
  node.stderr!.on('data', (text: Buffer) => {
    told += text.toString()
  })
  node.once('exit', (code) => {
    if (code) throw new Error(`run ended with ${code}: ${told}`)
  })
  return node
}

/** CPU time that `decode` takes for each further second of a recording, once it has heard so much of it as the radio had. */
async function costOfRecording(folder: string, octets: Buffer): Promise<number> {
  const lap = (audioS: number): Promise<number> => costOfDecoding(folder, octets, audioS)
  let sum = 0
  for (let round = 0; round < rounds; round++)
    sum += (await lap(warmS + moreS)) - (await lap(warmS))
  return sum / rounds / moreS
}

async function costOfDecoding(folder: string, octets: Buffer, lastsS: number): Promise<number> {
  const file = join(folder, `recording-${lastsS}.wav`)
  if (!existsSync(file)) {
    const wav = createWav(file, { sampleRateHz, sampleFormat: 's16le', channelCount: 1 })
    for (let doneS = 0; doneS < lastsS; doneS += audioS) wav.writeOctets(octets)
    wav.close()
  }
  return (await decode(file, [])).cpuS
}

interface Thread {
  readonly id: string
  readonly name: string
  readonly cpuS: number
  readonly switches: number
}

/** What each thread has used (Linux). */
export function threadsOf(pid: number): Thread[] {
  const folder = `/proc/${pid}/task`
  return readdirSync(folder).flatMap((id) => {
    try {
      const stat = readFileSync(`${folder}/${id}/schedstat`, 'utf8').split(' ')
      const status = readFileSync(`${folder}/${id}/status`, 'utf8')
      const switches = Number(/^voluntary_ctxt_switches:\s*(\d+)/m.exec(status)?.[1] ?? 0)
      const name = id === String(pid) ? 'main' : /^Name:\s*(.*)/.exec(status)![1]!
      return [{ id, name, cpuS: Number(stat[0]) / 1e9, switches }]
    } catch {
      return [] // it has ended meanwhile
    }
  })
}

export const differences = (before: Thread[], after: Thread[]): Thread[] =>
  after
    .map((thread) => {
      const earlier = before.find(({ id }) => id === thread.id)
      return {
        ...thread,
        cpuS: thread.cpuS - (earlier?.cpuS ?? 0),
        switches: thread.switches - (earlier?.switches ?? 0),
      }
    })
    .sort((a, b) => b.cpuS - a.cpuS)
