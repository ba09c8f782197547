// Which samples are listened to, against a rule applied to whole runs of equal samples.
import { describe, expect, it } from 'vitest'
import { createStillness } from '../../../../dsp/modem/frontEnd/stillness.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const rateHz = 1000
/** One second, and 10 ms. */
const settling = 1000
const unit = 10

/** Places of a recording that are listened to: of each run its first second, and what is over of whole steps of 10 ms. */
function placesHeard(audio: Float32Array): number[] {
  const places: number[] = []
  for (let start = 0; start < audio.length; ) {
    let end = start + 1
    while (end < audio.length && audio[end] === audio[start]) end++
    const spare = Math.max(0, end - start - settling)
    for (let at = start; at < end - spare; at++) places.push(at)
    for (let at = end - (spare % unit); at < end; at++) places.push(at)
    start = end
  }
  return places
}

/** @param lookBack places are asked for that far back, each time something is listened to */
function run(audio: Float32Array, lengthOf: () => number, lookBack = 1e9) {
  const stillness = createStillness(rateHz, lookBack)
  const heard: number[] = []
  const places = placesHeard(audio)
  const listen = (samples: Float32Array): void => {
    expect(samples.length).toBeGreaterThan(0)
    heard.push(...samples)
    for (
      let at = Math.max(0, heard.length - Math.min(lookBack, 3000));
      at < heard.length;
      at += 211
    )
      if (stillness.inputAt(at) !== places[at])
        expect.fail(
          `${at} of ${heard.length} stands at ${places[at]}, not ${stillness.inputAt(at)}`,
        )
  }
  for (let from = 0; from < audio.length; ) {
    const length = lengthOf()
    stillness.pass(audio.subarray(from, from + length), listen)
    from += length
  }
  stillness.finish(listen)
  stillness.finish(() => expect.fail('held samples are given once'))
  expect(heard).toEqual(places.map((at) => audio[at]))
  return stillness
}

/** Runs of equal samples; 0 stands for a sample of sound. */
function withRuns(lengths: readonly number[], seed = 1): Float32Array {
  const random = seededRandom(seed)
  let value = 0.5
  return Float32Array.from(
    lengths.flatMap((length) => {
      if (length === 0) return [random() + 1]
      value = -value
      return new Array<number>(length).fill(value)
    }),
  )
}

describe('one run', () => {
  it.each([
    [999, 0],
    [1000, 0],
    [1009, 0],
    [1010, 10],
    [1019, 10],
    [1020, 20],
    [5555, 4550],
  ])('of %i equal samples %i are left out', (length, leftOut) => {
    for (const before of [[], [0, 0, 0]])
      for (const blockSamples of [1, 10, 333, 100_000]) {
        const audio = withRuns([...before, length, 0])
        run(audio, () => blockSamples)
        expect(audio.length - placesHeard(audio).length).toBe(leftOut)
      }
  })

  it('may be the last', () => {
    run(withRuns([0, 0, 1234]), () => 100)
  })
})

it.each([1, 2, 3, 4])('runs of all lengths, at any look back, in any blocks, seed %i', (seed) => {
  const random = seededRandom(seed)
  const lengths = Array.from({ length: 60 }, () => {
    const kind = Math.floor(4 * random())
    if (kind === 0) return 0
    if (kind === 1) return 1 + Math.floor(20 * random())
    return kind === 2 ? 995 + Math.floor(40 * random()) : 1000 + Math.floor(2000 * random())
  })
  const audio = withRuns(lengths, seed)
  for (const lookBack of [100, 2500, 20_000]) run(audio, () => 480, lookBack)
  run(audio, () => 1 + Math.floor(3000 * random()), 2500)
})

it('leaves out in steps that hold whole samples: 40 ms at 11,025 Hz', () => {
  const stillness = createStillness(11_025, 1e6)
  let count = 0
  const listen = (samples: Float32Array): void => {
    count += samples.length
  }
  stillness.pass(new Float32Array(11_025 + 440), listen)
  expect(count).toBe(11_025)
  stillness.pass(new Float32Array(1), listen)
  stillness.finish(listen)
  expect(count).toBe(11_025)
  expect(stillness.inputAt(11_024)).toBe(11_024)
  expect(stillness.inputAt(11_025)).toBe(11_025 + 441)
})

it('an empty block is nothing', () => {
  const stillness = createStillness(rateHz, 1000)
  stillness.pass(new Float32Array(0), () => expect.fail('nothing to listen to'))
  stillness.finish(() => expect.fail('nothing to listen to'))
  expect(stillness.inputAt(0)).toBe(0)
})

describe('what is kept', () => {
  /** Where listened sample 1050 is said to stand, behind a first gap of 500 and some more sounds and gaps. */
  const placeAfter = (sounds: number, lookBack: number): number => {
    const stillness = createStillness(rateHz, lookBack)
    let heard = 0
    const listen = (samples: Float32Array): void => {
      heard += samples.length
    }
    stillness.pass(withRuns([1500]), listen)
    for (let sound = 0; sound < sounds; sound++)
      stillness.pass(withRuns([...new Array<number>(200).fill(0), 1500], sound + 1), listen)
    expect(heard).toBe(1000 + 1200 * sounds)
    return stillness.inputAt(1050)
  }

  // Each sound and the second behind it are 1200 samples that are listened to, and the gaps stand at 1000, 2200, 3400.
  it.each([
    [1, 1199, 1550],
    [2, 2399, 1550],
    [2, 1201, 1550],
    [2, 1200, 1050],
    [3, 2399, 1050],
    [3, 100, 1050],
    [9, 100, 1050],
    [9, 20_000, 1550],
  ])(
    'behind %i sounds, at a look back of %i, sample 1050 stands at %i: longer ago is forgotten',
    (sounds, lookBack, place) => {
      expect(placeAfter(sounds, lookBack)).toBe(place)
    },
  )
})
