// Entry of a process that detectorCost.ts starts for one part of the receiver, by its number: prints its costs as JSON.
// A process of its own, as a node has for each radio: what else ran before in the same one would shape the compiled code.
import { parts, recording } from '../receiverParts.js'

const [index, audioS, seed, runs] = process.argv.slice(2).map(Number) as [
  number,
  number,
  number,
  number,
]
const { audio, sent } = recording(audioS, seed)
const part = parts(audio, sent)[index]!
// The first rounds are thrown away: the just-in-time compiler is still at work.
const warmUpRounds = 2
for (let round = 0; round < warmUpRounds; round++) part.run()
const costs = Array.from({ length: runs }, () => part.run())
console.log(JSON.stringify({ name: part.name, costs }))
