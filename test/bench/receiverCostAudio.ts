// What receiverCost.ts listens to.
import { whiteNoise } from '../../dsp/channel/noise.js'
import { seededRandom } from '../../src/runtime/random.js'
import { recording, sampleRateHz } from './receiverParts.js'

export const costKinds = ['silence', 'noise', 'busy', 'busy and strong'] as const
export type CostKind = (typeof costKinds)[number]

const silenceS = 600
const noiseS = 60
const busyS = 60

export function costAudio(kind: CostKind, seed: number): Float32Array {
  switch (kind) {
    case 'silence':
      return new Float32Array(silenceS * sampleRateHz)
    case 'noise':
      return whiteNoise(noiseS * sampleRateHz, 0.02, seededRandom(seed))
    case 'busy':
      return recording(busyS, seed).audio
    case 'busy and strong':
      return recording(busyS, seed, 20).audio
  }
}
