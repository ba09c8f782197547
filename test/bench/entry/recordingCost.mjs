// recordingCost.mjs FILE RATE_HZ WARM_UP_S: CPU seconds that the receiver takes for a second of a recording (raw 16-bit PCM), once it has
// heard so many seconds of it.
import { readFileSync } from 'node:fs'
import { createReceiver } from '../../../dist/dsp/modem/receiver.js'

const [file, rateText, warmUpText] = process.argv.slice(2)
const sampleRateHz = Number(rateText)
const octets = readFileSync(file)
const audio = new Float32Array(octets.length / 2)
for (let at = 0; at < audio.length; at++) audio[at] = octets.readInt16LE(2 * at) / 32_768

const receiver = createReceiver({ sampleRateHz })
const blockSamples = 16_384
function hear() {
  const { user, system } = process.cpuUsage()
  for (let at = 0; at < audio.length; at += blockSamples)
    receiver.push(audio.slice(at, at + blockSamples))
  const after = process.cpuUsage()
  return (after.user + after.system - user - system) / 1e6 / (audio.length / sampleRateHz)
}
for (let heardS = 0; heardS < Number(warmUpText); heardS += audio.length / sampleRateHz) hear()
console.log((hear() + hear() + hear()) / 3)
