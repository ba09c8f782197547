// The whole program as a user runs it: real processes, real arecord and aplay against ALSA's own file plugin, the node's
// database, a KISS client on a socket; a question goes in as audio, and the answers come out as audio.
import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { createConnection, type Socket } from 'node:net'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterEach, describe, expect, it } from 'vitest'
import { decodePcm, encodePcm } from '../../src/audio/rawPcm.js'
import { createKissDecoder } from '../../src/kiss/codec.js'
import { type AlsaHome, alsaHome, hasAlsaTools } from '../audio/alsaHome.js'
import { compiled, edgesIn, waitFor } from '../ptt/helperProcess.js'
import { audioWith, decode, frame, loudSpans } from '../radio/fixtures.js'
import { root } from '../tidy/sources.js'

const rateHz = 48_000
const octetsPerSample = 2
const agreeWithinMs = 10
const ownCall = 'Q7RDG-10'

let home: AlsaHome | undefined
const children: ChildProcess[] = []
const sockets: Socket[] = []
afterEach(() => {
  for (const socket of sockets.splice(0)) socket.destroy()
  for (const child of children.splice(0)) child.kill('SIGKILL')
  home?.remove()
  home = undefined
})

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

/** Starts the program on a card that hears this audio once, at a card's pace. */
function startNode(audio: Float32Array): {
  child: ChildProcess
  folder: string
  log: () => string
} {
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
  const child = spawn(
    process.execPath,
    [compiled('src/cli/main.js'), 'run', join(folder, 'node.toml')],
    { env: home.env, stdio: ['ignore', 'ignore', 'pipe'] },
  )
  children.push(child)
  let log = ''
  child.stderr!.on('data', (text) => {
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

describe.skipIf(!hasAlsaTools)('the program on a sound card (alsa-utils)', () => {
  it('question in, acknowledgement and answers out; key log and audio agree', async () => {
    const question = frame('Q4TRL-7', `:${ownCall.padEnd(9)}:repeaters 1{3`, 'APZ001')
    const position = frame('Q4TRL-7', '!4510.26N/03639.78W[', 'APZ001')
    const acknowledgement = frame('Q4TRL-7', `:${ownCall.padEnd(9)}:ack101`, 'APZ001')
    const { child, folder, log } = startNode(
      audioWith(9000, rateHz, [
        { atMs: 2500, octets: position },
        { atMs: 4000, octets: question },
        { atMs: 8000, octets: acknowledgement },
      ]),
    )
    const portNumber = await waitFor(
      () => /KISS over TCP on 127\.0\.0\.1 port (\d+)/.exec(log())?.[1],
    )
    const client = createConnection({ host: '127.0.0.1', port: Number(portNumber) })
    sockets.push(client)
    const decoder = createKissDecoder({ maxOctets: 2048 })
    const heardByClient: Uint8Array[] = []
    client.on('data', (chunk) => {
      for (const { data } of decoder.push(chunk)) heardByClient.push(data)
    })
    await waitFor(() => /acknowledged/.exec(log()) ?? undefined)
    child.kill('SIGTERM')
    const exitCode = await new Promise((resolve) => child.once('exit', resolve))
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
  })
})
