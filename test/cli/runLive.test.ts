// The whole program as a user runs it: real processes, real arecord and aplay against ALSA's own file plugin, the node's
// database, a KISS client on a socket; a question goes in as audio, and the answers come out as audio.
import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { createConnection, type Socket } from 'node:net'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterEach, describe, expect, it } from 'vitest'
import { decodePcm, encodePcm } from '../../src/audio/rawPcm.js'
import { createKissDecoder, encodeKiss } from '../../src/kiss/codec.js'
import { kissCommand } from '../../src/kiss/constants.js'
import { type AlsaHome, alsaHome, hasAlsaTools } from '../audio/alsaHome.js'
import { compiled, edgesIn, processWith, waitFor } from '../ptt/helperProcess.js'
import { audioWith, decode, frame, loudSpans } from '../radio/fixtures.js'
import { judgedUnlessStarved } from '../radio/judgedUnlessStarved.js'
import { root } from '../tidy/sources.js'

const rateHz = 48_000
const octetsPerSample = 2
const agreeWithinMs = 10
const ownCall = 'Q7RDG-10'

let home: AlsaHome | undefined
const children: ChildProcess[] = []
const sockets: Socket[] = []
const tidy = (): void => {
  for (const socket of sockets.splice(0)) socket.destroy()
  for (const child of children.splice(0)) child.kill('SIGKILL')
  home?.remove()
  home = undefined
}
afterEach(tidy)

const configText = (folder: string): string => `
[station]
call = "${ownCall}"
latitudeDeg = 45.2310
longitudeDeg = -36.7420
[audio]
input = "alsa:testin"
output = "alsa:testout"
[ptt]
kind = "log"
logFile = "${join(folder, 'edges.log')}"
[transmit]
enabled = true
persistence = 255
[services.repeaters]
file = "${join(root, 'samples/hilltop/repeaters.csv')}"
[kiss.tcp]
port = 0
[log]
level = "all"
`

interface StartedNode {
  readonly child: ChildProcess
  readonly folder: string
  log(): string
}

/**
 * Starts the program on a card that hears this audio once, at a card's pace.
 * @param terminal true for a terminal of its own, as a session over a network has it; its far end is the child
 */
function startNode(audio: Float32Array, terminal = false): StartedNode {
  home = alsaHome()
  const folder = home.directory
  const inputFile = join(folder, 'input.raw')
  writeFileSync(inputFile, encodePcm(audio, 's16le'))
  execFileSync('mkfifo', [home.recordedFile])
  const pacer = fileURLToPath(new URL('../radio/pacedAudio.mjs', import.meta.url))
  const octetsPerSecond = String(rateHz * octetsPerSample)
  children.push(
    spawn(process.execPath, [pacer, inputFile, home.recordedFile, octetsPerSecond], {
      stdio: 'ignore',
    }),
  )
  writeFileSync(join(folder, 'node.toml'), configText(folder))
  const words = [process.execPath, compiled('src/cli/main.js'), 'run', join(folder, 'node.toml')]
  const [program, ...rest] = terminal
    ? ['script', '-qfec', `exec ${words.join(' ')}`, '/dev/null']
    : words
  const child = spawn(program!, rest, {
    env: home.env,
    stdio: ['pipe', 'pipe', 'pipe'],
    detached: true,
  })
  children.push(child)
  let log = ''
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (text) => {
      log += String(text)
    })
  return { child, folder, log: () => log }
}

const played = (): Float32Array => {
  try {
    return decodePcm(readFileSync(home!.playedFile), 's16le', 1)[0]!
  } catch {
    return new Float32Array(0)
  }
}

/** Connects to a started node, once it says where. */
async function kissClient(log: () => string): Promise<Socket> {
  const port = await waitFor(() => /KISS over TCP on 127\.0\.0\.1 port (\d+)/.exec(log())?.[1])
  const client = createConnection({ host: '127.0.0.1', port: Number(port) })
  client.on('error', () => {})
  sockets.push(client)
  return client
}

/** Has a client send a frame under another call, so that the station's own is owed. */
async function oweIdentification({ log, folder }: StartedNode): Promise<void> {
  const client = await kissClient(log)
  client.write(
    encodeKiss({ port: 0, command: kissCommand.data, data: frame('Q6BBS', 'from a client') }),
  )
  await waitFor(() => edgesIn(join(folder, 'edges.log')).find(({ edge }) => edge === 'keyed'))
}

const owedAndPaid = ['Q6BBS>APZ000', `${ownCall}>ID`]

/** As a terminal and its shell do it: all processes of the group get the signal. */
const tellGroup = ({ pid }: ChildProcess, signal: NodeJS.Signals): void => {
  process.kill(-pid!, signal)
}

const ends: readonly (readonly [name: string, end: (child: ChildProcess) => void])[] = [
  ['SIGTERM', (child) => child.kill('SIGTERM')],
  ['SIGINT from a terminal', (child) => tellGroup(child, 'SIGINT')],
  [
    'SIGHUP of a session that closes, told more than once',
    (child) => {
      for (let times = 0; times < 3; times++) tellGroup(child, 'SIGHUP')
    },
  ],
]

describe.skipIf(!hasAlsaTools)('the program on a sound card (alsa-utils)', () => {
  it('question in, acknowledgement and answers out; key log and audio agree', (context) =>
    judgedUnlessStarved(context, conversation, judgeConversation, tidy, judgeTimeless))

  it.for(ends)('%s: an identification that is owed goes out first', ([, end], context) =>
    judgedUnlessStarved(context, () => endedBy(end), judgeEnd, tidy, judgeTimeless),
  )

  it('a terminal that is gone with its session ends it in the same order', (context) =>
    judgedUnlessStarved(context, goneWithItsSession, judgeEnd, tidy, judgeTimeless))
})

const question = frame('Q4TRL-7', `:${ownCall.padEnd(9)}:repeaters 1{3`, 'APZ001')
const position = frame('Q4TRL-7', '!4510.26N/03639.78W[', 'APZ001')
const acknowledgement = frame('Q4TRL-7', `:${ownCall.padEnd(9)}:ack101`, 'APZ001')

interface Conversation extends StartedNode {
  readonly exitCode: unknown
  readonly heardByClient: readonly Uint8Array[]
}

async function conversation(): Promise<Conversation> {
  const node = startNode(
    audioWith(9000, rateHz, [
      { atMs: 2500, octets: position },
      { atMs: 4000, octets: question },
      { atMs: 8000, octets: acknowledgement },
    ]),
  )
  const client = await kissClient(node.log)
  const decoder = createKissDecoder({ maxOctets: 2048 })
  const heardByClient: Uint8Array[] = []
  client.on('data', (chunk) => {
    for (const { data } of decoder.push(chunk)) heardByClient.push(data)
  })
  await waitFor(() => /acknowledged/.exec(node.log()) ?? undefined)
  node.child.kill('SIGTERM')
  return { ...node, heardByClient, exitCode: await exitOf(node) }
}

function judgeConversation({ exitCode, log, folder, heardByClient }: Conversation): void {
  expect(exitCode, log()).toBe(0)
  const lines = decode(played(), rateHz)
  expect(lines[0]).toBe(`${ownCall}>APZRPT::Q4TRL-7  :ack3`)
  expect(lines[1]).toMatch(/^Q7RDG-10>APZRPT::Q4TRL-7 {2}:\S.* of you\{101$/)
  expect(heardByClient.map((octets) => Buffer.from(octets))).toEqual(
    [position, question, acknowledgement].map((octets) => Buffer.from(octets)),
  )
  expect(log()).toMatch(/stopped, unkeyed/)

  const edges = edgesIn(join(folder, 'edges.log'))
  const keyedMs = edges
    .filter(({ edge }) => edge === 'keyed')
    .map(({ monotonicMs }) => {
      const off = edges.find((one) => one.edge === 'unkeyed' && one.monotonicMs > monotonicMs)
      return off!.monotonicMs - monotonicMs
    })
  // The file plugin joins what was played: pauses between transmissions are not in the file, their sum is its length.
  const audioMs = loudSpans(played(), rateHz).reduce(
    (sum, { fromMs, toMs }) => sum + toMs - fromMs,
    0,
  )
  const excessMs = keyedMs.reduce((sum, ms) => sum + ms, 0) - audioMs
  expect(excessMs).toBeGreaterThan(-agreeWithinMs)
}

interface Ended extends StartedNode {
  /** undefined where nobody is left to see it */
  readonly exitCode: unknown
}

async function endedBy(end: (child: ChildProcess) => void): Promise<Ended> {
  const node = startNode(new Float32Array(rateHz))
  await oweIdentification(node)
  end(node.child)
  return { ...node, exitCode: await exitOf(node) }
}

async function goneWithItsSession(): Promise<Ended> {
  const node = startNode(new Float32Array(rateHz), true)
  await oweIdentification(node)
  // What a broken connection leaves: no far end, and errors for whoever still reads or writes.
  node.child.kill('SIGKILL')
  const folderOfNode = join(node.folder, 'node.toml')
  await waitFor(() => (isRunning(folderOfNode) ? undefined : true))
  return { ...node, exitCode: undefined }
}

function judgeEnd({ exitCode, log, folder }: Ended): void {
  if (exitCode !== undefined) {
    expect(exitCode, log()).toBe(0)
    expect(log()).toMatch(/stopped, unkeyed/)
  }
  expect(
    decode(played(), rateHz).map((line) => line.split(':')[0]),
    log(),
  ).toEqual(owedAndPaid)
  expect(edgesIn(join(folder, 'edges.log')).at(-1)?.edge).toBe('unkeyed')
}

/** However late everything was: it is unkeyed after each keying, and says nothing but under its own call or for its client. */
function judgeTimeless({ folder }: StartedNode): void {
  const edges = edgesIn(join(folder, 'edges.log')).map(({ edge }) => edge)
  expect(edges).toEqual(edges.map((_, at) => (at % 2 === 0 ? 'keyed' : 'unkeyed')))
  expect(edges.length % 2).toBe(0)
  for (const line of decode(played(), rateHz)) expect(line).toMatch(/^(Q7RDG-10|Q6BBS)>/)
}

const exitOf = ({ child }: StartedNode): Promise<unknown> =>
  new Promise((resolve) => child.once('exit', resolve))

function isRunning(text: string): boolean {
  try {
    processWith(text)
    return true
  } catch {
    return false
  }
}
