// Plays a file of raw PCM into a FIFO at the pace of a sound card, then silence until it is ended.
// pacedAudio.mjs FILE FIFO OCTETS_A_SECOND
import { openSync, readFileSync, writeSync } from 'node:fs'

const [file, fifo, octetsPerSecond] = process.argv.slice(2)
const audio = readFileSync(file)
const blockOctets = Math.round(Number(octetsPerSecond) / 50 / 2) * 2
const output = openSync(fifo, 'w')
const startedNs = process.hrtime.bigint()
let at = 0
const pump = () => {
  const elapsedS = Number(process.hrtime.bigint() - startedNs) / 1e9
  while (at + blockOctets <= elapsedS * Number(octetsPerSecond)) {
    const block = Buffer.alloc(blockOctets)
    audio.copy(block, 0, at, Math.min(at + blockOctets, audio.length))
    writeSync(output, block)
    at += blockOctets
  }
  setTimeout(pump, 5)
}
pump()
