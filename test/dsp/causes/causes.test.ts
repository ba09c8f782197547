import { describe, expect, it } from 'vitest'
import { causeKindNames, causeTexts } from '../../../dsp/causes/causeWords.js'
import { createLossWatch } from '../../../dsp/causes/lossWatch.js'
import { whiteNoise } from '../../../dsp/channel/noise.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { knownCauses, lostFrame, pairOf } from '../../channel/lostFrames.js'

// A slice of npm run bench -- causes, which has 40 recordings of each.
describe('why a frame was lost', () => {
  it('each cause is named, and hardly ever one that is not there', () => {
    const blamed: string[] = []
    for (const cause of knownCauses) {
      const { told } = lostFrame([cause], seededRandom(16))
      const named = told.causes.map((one) => (one.kind === 'hum' ? `hum ${one.hz}` : one.kind))
      expect(named, cause).toContain(cause)
      blamed.push(...named.filter((one) => one !== cause))
      // Without figures it says nothing else.
      for (const [index, name] of causeKindNames(told.causes).entries())
        expect(causeTexts(told.causes)[index]!.split(/[ :,]+/)).toEqual(
          expect.arrayContaining(name.split(' ')),
        )
    }
    expect(blamed.length, blamed.join(', ')).toBeLessThanOrEqual(1)
  }, 120_000)

  it('a second signal is told from a fade, which behind an FM receiver is as loud as the signal', () => {
    const kindsOf = (cause: 'collision' | 'noise', seed: number): string[] =>
      lostFrame([cause], seededRandom(seed)).told.causes.map(({ kind }) => kind)
    // The one begins where the stretch ends, the other covers all of it.
    for (const seed of [101_000, 101_008]) expect(kindsOf('collision', seed)).toEqual(['collision'])
    expect(kindsOf('noise', 101_008)).toEqual(['noise'])
  }, 120_000)

  it('two at once are both named', () => {
    const { told } = lostFrame(['2200 Hz low', 'hum 50'], seededRandom(12))
    const kinds: string[] = told.causes.map(({ kind }) => kind)
    expect(kinds).toEqual(expect.arrayContaining(['2200 Hz low', 'hum']))
    const texts = causeTexts(told.causes)
    expect(texts.join('; ')).toMatch(/hum at 50 Hz, -?\d+ dB over the signal: a ground loop/)
    expect(texts.join('; ')).toMatch(/2200 Hz tone \d+ dB low: de-emphasised twice\?/)
  })

  // What one of them does to the signal hid the other.
  it.each([
    ['2200 Hz high', 'clicks', 5264],
    ['noise', 'short preamble', 5016],
    ['noise', 'echo', 5099],
    ['2200 Hz low', 'collision', 5006],
    ['slip', 'hum', 5166],
    // Hum jumps with the samples that are gone.
    ['slip', 'hum', 9096],
    ['slip', 'off-tune', 9084],
    ['short preamble', 'hum', 9079],
    ['clipping', '2200 Hz low', 9076],
  ] as const)(
    '%s and %s do not hide each other',
    (one, other, seed) => {
      const { told, causes } = lostFrame(pairOf(seededRandom(seed)), seededRandom(seed))
      const kinds = told.causes.map(({ kind }) => kind)
      expect(causes.map((cause) => cause.replace(/ [56]0$/, '')).toSorted()).toEqual(
        [one, other].toSorted(),
      )
      expect(kinds.toSorted()).toEqual([one, other].toSorted())
    },
    60_000,
  )

  it('silence and hiss hold no lost frame; a stretch of either has no trouble that is made up', () => {
    const sampleRateHz = 22_050
    for (const audio of [
      new Float32Array(10 * sampleRateHz),
      whiteNoise(10 * sampleRateHz, 0.1, seededRandom(5)),
    ]) {
      const watch = createLossWatch({ sampleRateHz, findsAll: true })
      watch.push(audio)
      expect([...watch.take([], []), ...watch.finish()]).toEqual([])
      const other = createLossWatch({ sampleRateHz, findsAll: false })
      other.push(audio)
      const [lost] = other.take([], [{ firstSample: sampleRateHz, lastSample: 2 * sampleRateHz }])
      expect(lost!.causes.map(({ kind }) => kind)).toEqual(['noise'])
    }
  })

  it('the shortest stretch that is looked at is explained, whatever its audio is and wherever it lies', () => {
    const sounds: Record<string, (at: number) => number> = {
      silence: () => 0,
      'one value': () => 0.5,
      'full scale in turn': (at) => (at % 2 === 0 ? 1 : -1),
      tone: (at) => Math.sin(at / 5),
      'no numbers': () => Number.NaN,
      'one click': (at) => (at === 700 ? 1 : 0),
    }
    for (const sampleRateHz of [8_000, 12_000, 48_000])
      for (const [name, sound] of Object.entries(sounds)) {
        const length = Math.ceil(0.081 * sampleRateHz)
        for (const silentSamples of [0, sampleRateHz]) {
          const watch = createLossWatch({ sampleRateHz, findsAll: false })
          watch.push(new Float32Array(silentSamples))
          watch.push(Float32Array.from({ length }, (_, at) => sound(at)))
          const span = { firstSample: silentSamples, lastSample: silentSamples + length }
          expect([...watch.take([], [span]), ...watch.finish()], name).toHaveLength(1)
        }
      }
  })

  it('flags that were misread are no frame before the one that was read', () => {
    const sampleRateHz = 12_000
    const damaged = { firstSample: 20_000, lastSample: 22_000 }
    const lostBeside = (preambleFlags: number) => {
      const watch = createLossWatch({ sampleRateHz, findsAll: false })
      watch.push(whiteNoise(4 * sampleRateHz, 0.1, seededRandom(6)))
      const read = { firstSample: 22_000, lastSample: 26_000, quality: { preambleFlags } }
      return [...watch.take([read], [damaged]), ...watch.finish()]
    }
    expect(lostBeside(30)).toEqual([])
    expect(lostBeside(1)).toHaveLength(1)
  })

  it('what is no number, no longer there, or longer than is kept does no harm', () => {
    const watch = createLossWatch({ sampleRateHz: 8000, findsAll: false })
    const broken = new Float32Array(8000).fill(Number.NaN)
    for (let s = 0; s < 20; s++) watch.push(broken)
    const lost = watch.take(
      [],
      [
        { firstSample: 0, lastSample: 8000 },
        { firstSample: 20_000, lastSample: 140_000 },
        { firstSample: 150_000, lastSample: 150_001 },
      ],
    )
    expect(lost.length).toBeLessThan(3)
    for (const { levelDbfs, toneBalanceDb, ebN0Db } of lost)
      expect([levelDbfs, toneBalanceDb, ebN0Db].every(Number.isFinite)).toBe(true)
  })
})
