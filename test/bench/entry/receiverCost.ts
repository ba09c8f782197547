// Entry of a process that receiverCost.ts starts: one receiver, out of a bundle of its checkout, on one kind of audio; prints its cost.
import type { createReceiver as CreateReceiver } from '../../../dsp/modem/receiver.js'
import { type CostKind, costAudio } from '../receiverCostAudio.js'
import { sampleRateHz } from '../receiverParts.js'

const [bundle, kind, seed] = process.argv.slice(2) as [string, CostKind, string]
const { createReceiver } = (await import(bundle)) as { createReceiver: typeof CreateReceiver }
const audio = costAudio(kind, Number(seed))
const blockSamples = sampleRateHz / 10

function listen(): { cpuSPerS: number; frames: number } {
  const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
  let frames = 0
  const before = process.cpuUsage()
  for (let at = 0; at < audio.length; at += blockSamples)
    frames += receiver.push(audio.subarray(at, at + blockSamples)).length
  frames += receiver.finish().length
  const { user, system } = process.cpuUsage(before)
  return { cpuSPerS: (user + system) / 1e6 / (audio.length / sampleRateHz), frames }
}

// The first round is thrown away: the just-in-time compiler is at work. Of the others the least: what else runs only adds.
listen()
const rounds = Array.from({ length: 4 }, listen)
console.log(JSON.stringify(rounds.toSorted((a, b) => a.cpuSPerS - b.cpuSPerS)[0]))
