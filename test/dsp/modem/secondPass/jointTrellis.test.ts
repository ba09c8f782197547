// Tones decided on over copies whose correlations follow the model by definition.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { type CopyInTrellis, decideJointly } from '../../../../dsp/modem/secondPass/jointTrellis.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const count = 300
/** A space symbol adds 11/6 of a turn, a mark symbol one. */
const spaceTurn = (2 * Math.PI * 11) / 6

const randomTones = (seed: number): Uint8Array => {
  const random = seededRandom(seed)
  return Uint8Array.from({ length: count }, () => (random() < 0.5 ? 0 : 1))
}
const tones = randomTones(52)

interface Path {
  readonly noise?: number
  readonly first?: number
  readonly inverted?: boolean
  readonly markStep?: number
  readonly spaceStep?: number
  readonly markAmplitude?: number
  readonly spaceAmplitude?: number
  readonly startRadians?: number
  /** these hear noise alone, three times as loud as the signal */
  readonly lost?: readonly [from: number, to: number]
  readonly seed?: number
}

/** A copy: what does not belong to a symbol's tone holds noise only, as if the tones were orthogonal. */
function copyOf(path: Path): CopyInTrellis {
  const { noise = 0.3, first = 0, inverted = false, seed = 1, lost = [0, 0] } = path
  const { markStep = 0, spaceStep = 0, markAmplitude = 1, spaceAmplitude = 1 } = path
  const length = first + count
  const column = (): Float32Array => new Float32Array(length)
  const run = { markRe: column(), markIm: column(), spaceRe: column(), spaceIm: column() }
  const weights = new Float32Array(length).fill(1)
  const draw = gaussian(seededRandom(seed))
  let phase = path.startRadians ?? 0
  for (let at = 0; at < length; at++) {
    const k = at - first
    const isMark = k < 0 ? at % 2 === 0 : (tones[k] === 1) !== inverted
    const isLost = k >= lost[0] && k < lost[1]
    const amplitude = isLost ? 0 : isMark ? markAmplitude : spaceAmplitude
    const rms = isLost ? 3 : noise
    const of = (part: number, own: boolean): number => (own ? amplitude * part : 0) + rms * draw()
    run.markRe[at] = of(Math.cos(phase), isMark)
    run.markIm[at] = of(Math.sin(phase), isMark)
    run.spaceRe[at] = of(Math.cos(phase), !isMark)
    run.spaceIm[at] = of(Math.sin(phase), !isMark)
    if (isLost) weights[at] = 0
    phase += isMark ? markStep : spaceTurn + spaceStep
  }
  const variance = noise * noise
  return {
    ...{ run, first, inverted, markStep, spaceStep, markAmplitude, spaceAmplitude },
    ...{ variance, weights },
  }
}

function wrongTones(copies: readonly CopyInTrellis[]): number {
  const found = new Uint8Array(count)
  decideJointly(copies, count, found)
  return found.reduce((sum, tone, k) => sum + (tone === tones[k] ? 0 : 1), 0)
}

describe('tones of several copies', () => {
  it.each<[string, Path]>([
    ['as it is', {}],
    ['that begins later in its run', { first: 37 }],
    ['whose mark is the others’ space', { inverted: true }],
    ['whose tones are off', { markStep: 0.25, spaceStep: -0.2 }],
    ['whose space is weak', { spaceAmplitude: 0.4, noise: 0.15 }],
    ['whose mark is weak', { markAmplitude: 0.4, noise: 0.15 }],
    ['that begins with any phase', { startRadians: 2.1 }],
  ])('of one copy %s are right', (_, path) => {
    expect(wrongTones([copyOf(path)])).toBe(0)
  })

  it('a copy is read by its own settings', () => {
    const off = copyOf({ markStep: 0.4, spaceStep: -0.4, noise: 0.3 })
    expect(wrongTones([{ ...off, markStep: 0, spaceStep: 0 }])).toBeGreaterThan(5)
    const inverted = copyOf({ inverted: true })
    expect(wrongTones([{ ...inverted, inverted: false }])).toBeGreaterThan(200)
    const late = copyOf({ first: 37 })
    expect(wrongTones([{ ...late, first: 36 }])).toBeGreaterThan(50)
  })

  it('two copies give what neither gives alone, whatever their phases and signs', () => {
    const a = copyOf({ noise: 0.62, seed: 2 })
    const b = copyOf({ noise: 0.62, seed: 3, startRadians: 2.5, inverted: true, first: 12 })
    const [alone, other, both] = [wrongTones([a]), wrongTones([b]), wrongTones([a, b])]
    expect(Math.min(alone, other)).toBeGreaterThan(4)
    expect(both).toBeLessThan(Math.min(alone, other) / 2)
  })

  it('each counts by its own noise', () => {
    const clear = copyOf({ noise: 0.3, seed: 4 })
    const noisy = copyOf({ noise: 2, seed: 5 })
    expect(wrongTones([clear, noisy])).toBe(0)
    expect(wrongTones([clear, { ...noisy, variance: 0.01 }])).toBeGreaterThan(20)
  })

  it('what is not trusted does not count', () => {
    const a = copyOf({ seed: 6, lost: [100, 160] })
    const b = copyOf({ seed: 7, lost: [200, 240], startRadians: 1 })
    expect(wrongTones([a])).toBeGreaterThan(15)
    expect(wrongTones([a, b])).toBe(0)
    expect(wrongTones([{ ...a, weights: b.weights }, b])).toBeGreaterThan(0)
  })

  // Louder space, nothing but noise: half of the branch's energy keeps it from winning by its amplitude.
  it('a tone is not chosen because it is louder', () => {
    const strong = copyOf({ spaceAmplitude: 3, markAmplitude: 1, noise: 0.5, seed: 8 })
    const found = new Uint8Array(count)
    decideJointly([strong], count, found)
    const wrong = found.reduce((sum, tone, k) => sum + (tone === tones[k] ? 0 : 1), 0)
    expect(wrong).toBeLessThan(6)
  })
})
