// CPU seconds per second of 48 kHz audio: each part of the receiver, the whole of it, and, where GNU Radio is installed,
// two receivers of its compiled stock blocks (peerChain.py) on the same recording in the same call.
import { execFileSync } from 'node:child_process'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { createWav } from '../../src/audio/wavWriter.js'
import type { Bench } from './bench.js'
import { noPeer, type PeerKind, peerReceptions } from './peer.js'
import { table } from './receiveFile.js'
import { type Cost, parts, recording, sampleRateHz } from './receiverParts.js'

interface NamedCost extends Cost {
  readonly name: string
}

export const bench: Bench = {
  name: 'detector-cost',
  about:
    'CPU time of each part of the receiver, beside compiled stock blocks where they are installed',
  async run({ seed, output, quick }) {
    const audioS = quick ? 60 : 300
    const runs = quick ? 3 : 7
    const { audio, sent } = recording(audioS, seed)
    const file = join(output, 'detector-cost.wav')
    const wav = createWav(file, { sampleRateHz, sampleFormat: 's16le', channelCount: 1 })
    wav.write(audio)
    wav.close()
    const measured = parts(audio, sent).map((_, index) => partCost(index, audioS, seed, runs))
    const peers = (['plain', 'lean'] as const).flatMap((kind) => peerCost(kind, file, sent, runs))
    console.log(
      `${audioS} s of audio, ${sent.size} frames at 8 to 16 dB Eb/N0 in half of the time; middle one of ${runs} runs,\n` +
        'each part in a process of its own\n',
    )
    console.log(
      table([
        ['part', 'CPU s per s', 'frames'],
        ...[...measured, ...peers].map((cost) => [
          cost.name,
          cost.cpuSPerS.toFixed(5),
          cost.found ?? '',
        ]),
      ]),
    )
    if (peers.length === 0) console.log(`\n${noPeer}`)
  },
}

function partCost(index: number, audioS: number, seed: number, runs: number): NamedCost {
  const script = fileURLToPath(new URL('./entry/receiverPart.ts', import.meta.url))
  const numbers = [index, audioS, seed, runs].map(String)
  const text = execFileSync(process.execPath, [...process.execArgv, script, ...numbers], {
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const { name, costs } = JSON.parse(text) as { name: string; costs: Cost[] }
  return { name, ...median(costs) }
}

function median<T extends { readonly cpuSPerS: number }>(runs: readonly T[]): T {
  return runs.toSorted((a, b) => a.cpuSPerS - b.cpuSPerS)[runs.length >> 1]!
}

function peerCost(
  kind: PeerKind,
  file: string,
  sent: ReadonlySet<string>,
  runs: number,
): NamedCost[] {
  const receptions = peerReceptions(kind, Array<string>(runs).fill(file))
  if (receptions.length === 0) return []
  const results = receptions.map(({ frames, cpuS, audioS }) => ({
    cpuSPerS: cpuS / audioS,
    found: new Set(frames.filter((hex) => sent.has(hex))).size,
  }))
  return [{ name: `GNU Radio blocks, ${kind} chain`, ...median(results) }]
}
