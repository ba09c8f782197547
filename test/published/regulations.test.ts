// Check values from the rules: 47 CFR part 97, read in reprints of the years named beside each; what was not read is
// marked 'from memory', what is habit 'common practice'. Not legal advice; a licence decides.
import { describe, expect, it } from 'vitest'
import { parseConfig } from '../../src/config/load.js'
import { amateurBands, bandOf } from '../../src/regulations/amateurBands.js'
import { rulesCautions } from '../../src/regulations/cautions.js'
import {
  automaticControlAllowed,
  carsonBandwidthKHz,
  emissionLimits,
  emissions,
  identificationMinutesMax,
  morseWordsPerMinuteMax,
  type RulePlan,
  ruleNotes,
} from '../../src/regulations/rules.js'
import { usualFrequencies } from '../../src/regulations/usualFrequencies.js'

const plan: RulePlan = {
  frequencyMHz: 145.01,
  bitRate: 1200,
  powerW: 25,
  identificationMinutes: 9,
  morseWordsPerMinute: undefined,
}
const rulesFor = (change: Partial<RulePlan>) =>
  ruleNotes({ ...plan, ...change }).map(({ rule, toJudge }) => `${rule}${toJudge ? ' ?' : ''}`)
const transmit = (text: string) =>
  parseConfig(`[transmit]\n${text}`, 'test.toml').radios[0]!.transmit

describe('97.119 identification (read 2004)', () => {
  it('(a): at least every 600 s; the default of 540 s leaves margin (common practice)', () => {
    expect(identificationMinutesMax * 60).toBe(600)
    expect(transmit('').identificationMinutes * 60).toBe(540)
    expect(transmit('identificationMinutes = 10').identificationMinutes).toBe(10)
    expect(() => transmit('identificationMinutes = 10.1')).toThrow(/expected at most 10/)
    expect(rulesFor({ identificationMinutes: 10 })).not.toContain('47 CFR 97.119(a)')
    expect(rulesFor({ identificationMinutes: 10.1 })).toContain('47 CFR 97.119(a)')
  })

  it('(b)(1): Morse by an automatic device at 20 words a minute passes, at 20.1 it fails', () => {
    expect(morseWordsPerMinuteMax).toBe(20)
    expect(transmit('morse = { wordsPerMinute = 20 }').morse.wordsPerMinute).toBe(20)
    expect(() => transmit('morse = { wordsPerMinute = 20.1 }')).toThrow(/expected at most 20/)
    expect(rulesFor({ morseWordsPerMinute: 20 })).not.toContain('47 CFR 97.119(b)(1)')
    expect(rulesFor({ morseWordsPerMinute: 20.1 })).toContain('47 CFR 97.119(b)(1)')
  })
})

describe('97.221 automatic control (read 2026)', () => {
  it('(b): 6 m and shorter wavelengths', () => {
    for (const frequencyMHz of [50, 53.5, 144.39, 222, 432, 1296])
      expect(automaticControlAllowed(frequencyMHz)).toBe(true)
  })

  it.each([
    [28.12, 28.189],
    [24.925, 24.93],
    [21.09, 21.1],
    [18.105, 18.11],
    [14.095, 14.0995],
    [14.1005, 14.112],
    [10.14, 10.15],
    [7.1, 7.105],
    [3.585, 3.6],
  ])('(b): %f to %f MHz, and nothing beside it', (from, to) => {
    for (const frequencyMHz of [from, (from + to) / 2, to])
      expect(automaticControlAllowed(frequencyMHz)).toBe(true)
    for (const frequencyMHz of [from - 0.0006, to + 0.0004])
      expect(automaticControlAllowed(frequencyMHz), String(frequencyMHz)).toBe(false)
  })

  it('(c): elsewhere at most 500 Hz, which this signal is not', () => {
    expect(emissions[1200].bandwidthKHz).toBeGreaterThan(0.5)
    expect(rulesFor({ frequencyMHz: 29.2 })).toContain('47 CFR 97.221(b), (c)')
    expect(rulesFor({ frequencyMHz: 28.15 })).not.toContain('47 CFR 97.221(b), (c)')
  })
})

describe('97.307 emission (read in public copies)', () => {
  it('1200 baud and 11.4 kHz (3.5 kHz deviation, 2.2 kHz tone, computed) fit 6 m and 2 m', () => {
    expect(carsonBandwidthKHz(3.5, 2.2)).toBeCloseTo(11.4, 12)
    for (const frequencyMHz of [50.62, 144.39, 147.9]) {
      const limits = emissionLimits(frequencyMHz)!
      expect(limits).toMatchObject({ rule: '47 CFR 97.307(f)(5)', baudMax: 19_600 })
      expect(limits.bandwidthKHzMax).toBe(20)
      expect(emissions[1200].baud).toBeLessThan(limits.baudMax!)
      expect(emissions[1200].bandwidthKHz).toBeLessThan(limits.bandwidthKHzMax!)
      expect(rulesFor({ frequencyMHz })).not.toContain('47 CFR 97.307(f)(5)')
    }
  })

  it('(f)(6): 70 cm and 1.25 m (the latter from memory): 56 kilobauds, 100 kHz', () => {
    for (const frequencyMHz of [223.5, 440])
      expect(emissionLimits(frequencyMHz)).toMatchObject({ baudMax: 56_000, bandwidthKHzMax: 100 })
  })

  it('(f)(4): 10 m takes 1200 bauds; (f)(3): below it FM is too wide (2.8 kHz, from memory)', () => {
    expect(emissionLimits(29.2)).toMatchObject({ baudMax: 1200 })
    expect(rulesFor({ frequencyMHz: 29.2 })).not.toContain('47 CFR 97.307(f)(4)')
    expect(rulesFor({ frequencyMHz: 14.105 })).toContain('47 CFR 97.307(f)(3)')
  })

  it('9600 baud and 15.6 kHz (3 kHz deviation, published; 4.8 kHz, half of the rate) fit 6 m and 2 m, not 10 m', () => {
    expect(emissions[9600].bandwidthKHz).toBeCloseTo(15.6, 12)
    for (const frequencyMHz of [50.62, 145.01, 440])
      expect(rulesFor({ frequencyMHz, bitRate: 9600 })).not.toContainEqual(
        expect.stringMatching(/97\.307/),
      )
    expect(rulesFor({ frequencyMHz: 29.2, bitRate: 9600 })).toContain('47 CFR 97.307(f)(4)')
  })
})

describe('97.301, 97.305 bands', () => {
  it('2 m is 144 to 148 MHz, data from 144.1 MHz up (read in a notice of 2023)', () => {
    expect(bandOf(144)).toMatchObject({ name: '2 m', fromMHz: 144, toMHz: 148 })
    expect(rulesFor({ frequencyMHz: 144.05 })).toContain('47 CFR 97.305(c)')
    expect(rulesFor({ frequencyMHz: 144.1 })).not.toContain('47 CFR 97.305(c)')
  })

  it('6 m data above 50.1 MHz (read in public copies)', () => {
    expect(rulesFor({ frequencyMHz: 50.05 })).toContain('47 CFR 97.305(c)')
    expect(rulesFor({ frequencyMHz: 50.1 })).not.toContain('47 CFR 97.305(c)')
  })

  it('ITU Region 1 ends 2 m at 146 MHz (from memory): told, for the licensee to judge', () => {
    const note = ruleNotes({ ...plan, frequencyMHz: 147 }).find(({ text }) => /Region 1/.test(text))
    expect(note).toMatchObject({
      toJudge: true,
      text: expect.stringMatching(/ends at 146 MHz .*look at your licence/),
    })
    expect(rulesFor({ frequencyMHz: 145.5 })).toEqual([])
  })

  it('outside the bands: look at your licence', () => {
    for (const frequencyMHz of [27.2, 143.9, 148.1, 156.8, 462])
      expect(ruleNotes({ ...plan, frequencyMHz })).toMatchObject([
        {
          rule: '47 CFR 97.301',
          toJudge: true,
          text: expect.stringMatching(/look at your licence/),
        },
      ])
  })

  it('bands do not overlap', () => {
    for (const [index, band] of amateurBands.slice(1).entries())
      expect(band.fromMHz).toBeGreaterThan(amateurBands[index]!.toMHz)
  })

  it('the shared frequencies lie in 2 m, and are told of as common practice', () => {
    for (const { frequencyMHz } of usualFrequencies) {
      expect(bandOf(frequencyMHz)?.name).toBe('2 m')
      expect(rulesFor({ frequencyMHz })).toContain('common practice ?')
    }
    expect(rulesFor({ frequencyMHz: 145.01 })).not.toContain('common practice ?')
  })
})

describe('97.313 power (read 1997)', () => {
  it('(b): at most 1500 W PEP; (c): 200 W on 30 m; 50 W on 70 cm near listed areas', () => {
    expect(rulesFor({ powerW: 1500 })).not.toContain('47 CFR 97.313(b)')
    expect(rulesFor({ powerW: 1501 })).toContain('47 CFR 97.313(b)')
    expect(rulesFor({ powerW: 201, frequencyMHz: 10.145 })).toContain('47 CFR 97.313(c)')
    expect(rulesFor({ powerW: 51, frequencyMHz: 445 })).toContain('47 CFR 97.313 ?')
  })
})

it('AX.25 T106: no transmission of ten minutes is possible (AX.25 v2.2, read)', () => {
  expect(() => transmit('timeOutMs = 600_000')).toThrow(/expected at most 30000/)
})

it('the cautions name licence, control operator, identification, frequency, duty and exposure', () => {
  const all = rulesCautions.map(({ about, text }) => `${about}: ${text}`).join('\n')
  for (const words of [
    /^Licence: /m,
    /97\.103, 97\.105/,
    /97\.109\(d\)/,
    /97\.119\(a\)/,
    /97\.101/,
    /97\.113/,
    /97\.115/,
    /97\.219/,
    /97\.13\(c\)/,
    /duty cycle/,
  ])
    expect(all).toMatch(words)
})
