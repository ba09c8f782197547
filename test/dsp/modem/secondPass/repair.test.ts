// Frames with doubtful places: two neighbouring tones that are mixed with the same two the other way round. How much less likely
// the right path is than the best one then goes by their shares, and is looked up before anything is tried.
import { describe, expect, it } from 'vitest'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import {
  createDecisionRecord,
  runTrellis,
  tracePath,
  visitPaths,
} from '../../../../dsp/modem/secondPass/decision.js'
import { fitBurst } from '../../../../dsp/modem/secondPass/fit.js'
import { createBurst } from '../../../../dsp/modem/secondPass/model.js'
import { createFrameRepair } from '../../../../dsp/modem/secondPass/repair.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { heardSymbols } from '../heardSymbols.js'
import { hex, testFrame } from '../receiving.js'

const frame = testFrame(4, seededRandom(3))
/** With an address that nobody has: its check sequence is right, and repair would not believe it. */
const odd = frame.map((octet, at) => (at === 0 ? 0x02 : octet))
const bitsOf = (...frames: Uint8Array[]): Uint8Array =>
  encodeHdlc({ frames, leadingFlags: 4, trailingFlags: 3 })
const levels = encodeNrzi(bitsOf(frame))

const modulated = (levels: Uint8Array): Float32Array =>
  modulateLevels(levels, { sampleRateHz: 12_000, peakLevel: 0.3 })

/** @param places symbols whose tone is mixed with the next one's, and how much of the wrong order is in them */
function mixed(levels: Uint8Array, places: readonly (readonly [number, number])[]): Float32Array {
  const audio = modulated(levels)
  for (const [at, share] of places) {
    expect(levels[at]).not.toBe(levels[at + 1])
    const wrong = modulated(
      levels.map((level, k) => (k === at || k === at + 1 ? 1 - level : level)),
    )
    for (let n = 10 * at; n < 10 * (at + 2); n++)
      audio[n] = (1 - share) * audio[n]! + share * wrong[n]!
  }
  return audio
}

interface Heard {
  readonly startsWithSignal?: boolean
  readonly from?: number
  readonly to?: number
  /** where each symbol begins */
  readonly startOf?: (symbol: number) => number
}

function heard(audio: Float32Array, { startsWithSignal = false, from = 0, to, startOf }: Heard) {
  const { correlations, run, mask } = heardSymbols(audio, startOf)
  const powers = (re: Float64Array, im: Float64Array) => re.map((x, k) => x * x + im[k]! * im[k]!)
  const spaces = powers(run.spaceRe, run.spaceIm)
  const tones = Uint8Array.from(powers(run.markRe, run.markIm), (mark, k) =>
    mark > spaces[k]! ? 1 : 0,
  )
  const symbolCount = Math.floor(audio.length / 10) - 2
  const guess = {
    ...{ run, mask, tones, firstSymbol: 0, symbolCount, startsWithSignal },
    ...{ markStep: 0, spaceStep: 0 },
  }
  const attempt = (level: 'none' | 'careful' | 'eager') =>
    createFrameRepair(correlations, level).attempt(guess, from, to ?? symbolCount)
  const octets = (level: 'none' | 'careful' | 'eager') =>
    attempt(level).map((one) => hex(one.octets))
  /** What the likeliest other paths cost. */
  const costs = (count: number): number[] => {
    const burst = createBurst()
    const record = createDecisionRecord()
    expect(fitBurst(burst, record, correlations, guess)).toBe(true)
    runTrellis(burst, record)
    const found: number[] = []
    const limits = { from: 0, to: symbolCount, pathsMax: count + 1, costMax: 1000 }
    visitPaths(burst, record, limits, ({ cost }) => found.push(cost) > 0)
    return found.slice(1)
  }
  /** Of a path among those in order of cost, 0 for the best one. */
  const rankOf = (path: Uint8Array): number => {
    const burst = createBurst()
    const record = createDecisionRecord()
    fitBurst(burst, record, correlations, guess)
    runTrellis(burst, record)
    const found: string[] = []
    const tones = new Uint8Array(symbolCount)
    visitPaths(burst, record, { from: 0, to: symbolCount, pathsMax: 20, costMax: 20 }, (one) => {
      tracePath(burst, record, one.departures, tones)
      return found.push(tones.join('')) > 0
    })
    return found.indexOf(path.subarray(0, symbolCount).join(''))
  }
  return { attempt, octets, costs, rankOf }
}

const nothing: string[] = []
const right = [hex(frame)]

describe('a frame with no doubt in it', () => {
  it.each(['none', 'careful', 'eager'] as const)(
    'is read with repair %s, where it lies',
    (level) => {
      const found = heard(modulated(levels), {}).attempt(level)
      expect(found).toEqual([
        {
          ...{ octets: frame, precedingFlags: 4, repairedBits: 0 },
          ...{ startSample: expect.closeTo(240, -0.5), endSample: expect.closeTo(2160, -0.5) },
        },
      ])
    },
  )

  it('stands although its content is odd', () => {
    const { octets, costs } = heard(modulated(encodeNrzi(bitsOf(odd))), {})
    expect(costs(1)[0]).toBeGreaterThan(20)
    for (const level of ['none', 'careful'] as const) expect(octets(level)).toEqual([hex(odd)])
  })

  it('two of them are both read', () => {
    const second = testFrame(5, seededRandom(4))
    const found = heard(modulated(encodeNrzi(bitsOf(frame, second))), {}).attempt('careful')
    expect(found.map((one) => [hex(one.octets), one.precedingFlags])).toEqual([
      [hex(frame), 4],
      [hex(second), 1],
    ])
    expect(found[1]!.startSample - found[0]!.startSample).toBeCloseTo(1840, -1)
  })
})

describe('a doubtful place', () => {
  it.each([
    ['6', 0.58, [4, 6], [nothing, right, right]],
    ['14', 0.64, [12, 14], [nothing, right, right]],
    ['20', 0.665, [14, 20], [nothing, nothing, right]],
    ['31', 0.69, [20, 32], [nothing, nothing, nothing]],
  ])('is put right where that costs less than %s', (_name, share, [least, most], expected) => {
    const { octets, costs } = heard(mixed(levels, [[71, share]]), {})
    const [cost] = costs(1)
    expect(cost).toBeGreaterThan(least!)
    expect(cost).toBeLessThan(most!)
    expect((['none', 'careful', 'eager'] as const).map(octets)).toEqual(expected)
  })

  it('counts as one change, several as many', () => {
    const places = [71, 103, 142].map((at) => [at, 0.53] as const)
    expect(heard(mixed(levels, places.slice(0, 1)), {}).attempt('careful')[0]?.repairedBits).toBe(1)
    expect(heard(mixed(levels, places), {}).attempt('careful')[0]?.repairedBits).toBe(3)
    // One in the flags before is none of the frame's.
    const before = heard(mixed(levels, [[7, 0.53], ...places]), {}).attempt('careful')
    expect(before[0]?.repairedBits).toBe(3)
  })

  it('is put right only where departures are allowed', () => {
    const audio = mixed(levels, [[71, 0.55]])
    expect(heard(audio, { from: 72 }).octets('careful')).toEqual(right)
    expect(heard(audio, { from: 73 }).octets('careful')).toEqual(nothing)
    expect(heard(audio, { to: 73 }).octets('careful')).toEqual(right)
    expect(heard(audio, { to: 72 }).octets('careful')).toEqual(nothing)
  })

  // All of them are wrong: of 2^n paths the right one comes last.
  it.each([
    [5, [right, right]],
    [6, [nothing, right]],
    [7, [nothing, nothing]],
  ])('%i of them: 32 paths are tried, or 64', (count, expected) => {
    const places = [45, 62, 73, 87, 103, 121, 142].slice(0, count)
    const { octets, costs } = heard(
      mixed(
        levels,
        places.map((at) => [at, 0.52]),
      ),
      {},
    )
    expect(costs(2 ** count)[2 ** count - 2]).toBeLessThan(12)
    expect((['careful', 'eager'] as const).map(octets)).toEqual(expected)
  })
})

describe('odd content with a right check sequence', () => {
  const oddLevels = encodeNrzi(bitsOf(odd))
  it.each([
    ['less', 0.43, [3, 6], []],
    ['more', 0.39, [6, 9], [hex(odd)]],
  ])('stands where the next path costs %s than 6', (_what, share, [least, most], expected) => {
    const { octets, costs } = heard(mixed(oddLevels, [[103, share]]), {})
    expect(costs(1)[0]).toBeGreaterThan(least!)
    expect(costs(1)[0]).toBeLessThan(most!)
    for (const level of ['none', 'careful', 'eager'] as const)
      expect(octets(level)).toEqual(expected)
  })

  it('is left out where another path is close, and the frame beside it stays', () => {
    const both = encodeNrzi(bitsOf(odd, frame))
    const clean = heard(modulated(both), {})
    expect(clean.octets('careful')).toEqual([hex(odd), hex(frame)])
    const { octets } = heard(mixed(both, [[103, 0.45]]), {})
    expect(octets('careful')).toEqual(right)
    expect(octets('none')).toEqual([])
  })
})

describe('a frame whose opening flag is lost', () => {
  /** Its content begins at symbol `at`, behind alternating tones. */
  const late = (at: number, octets = frame): Uint8Array =>
    encodeNrzi(Uint8Array.from([...new Array<number>(at).fill(0), ...bitsOf(octets).subarray(32)]))
  const startsWithSignal = true

  it.each([
    [1, right],
    [40, right],
    [79, right],
    [80, nothing],
  ])('is read from symbol %i on where the signal begins with it', (at, expected) => {
    const audio = modulated(late(at))
    const { attempt } = heard(audio, { startsWithSignal })
    const found = attempt('none')
    expect(found.map((one) => hex(one.octets))).toEqual(expected)
    for (const { startSample, repairedBits } of found) {
      expect(Math.abs(startSample - 10 * (at - 8))).toBeLessThan(2)
      expect(repairedBits).toBe(0)
    }
    expect(heard(audio, {}).octets('careful')).toEqual(nothing)
  })

  it('must make sense', () => {
    expect(heard(modulated(late(40, odd)), { startsWithSignal }).octets('careful')).toEqual(nothing)
    const doubtful = mixed(late(40, odd), [[111, 0.53]])
    expect(heard(doubtful, { startsWithSignal }).octets('careful')).toEqual(nothing)
  })

  it.each([
    [1, right],
    [2, right],
    [3, right],
    [4, nothing],
  ])('is looked for on three more paths: the right one is number %i', (number, expected) => {
    const own = late(40)
    // What is right in the best path is doubtful, too, and less so than what is wrong.
    const places = [53, 70, 81].map((at, n) => [at, n < number - 1 ? 0.46 : 0] as const)
    const { octets, rankOf } = heard(mixed(own, [...places, [111, 0.555]]), { startsWithSignal })
    expect(rankOf(own)).toBe(number)
    expect(octets('careful')).toEqual(expected)
    expect(octets('none')).toEqual(nothing)
  })
})

describe('what no path of one signal gives', () => {
  const long = testFrame(20, seededRandom(3))
  const whole = modulated(
    encodeNrzi(encodeHdlc({ frames: [long], leadingFlags: 6, trailingFlags: 3 })),
  )

  it('lost samples are read across, unless nothing may be repaired', () => {
    const cut = Float32Array.from([...whole.subarray(0, 1503), ...whole.subarray(1506)])
    const startOf = (k: number) => 10 * k - (k >= 150 ? 3 : 0)
    const { octets } = heard(cut, { startOf })
    expect(octets('careful')).toEqual([hex(long)])
    expect(octets('none')).toEqual([])
  })

  it.each([
    [10, 0.75, 2],
    [13, 0.7, 1],
  ])(
    'an echo of %i samples is decided along, unless nothing may be repaired',
    (delay, gain, seed) => {
      const both = whole.map((sample, n) => sample + gain * (whole[n - delay] ?? 0))
      const { octets } = heard(addNoise(both, 0.1, seededRandom(seed)), {})
      expect(octets('careful')).toEqual([hex(long)])
      expect(octets('none')).toEqual([])
    },
  )
})
