import { describe, expect, it } from 'vitest'
import {
  adviseOnPackets,
  balanceAdvice,
  mean,
  type PacketFigures,
  packetLevelAdvice,
} from '../../src/radio/packetAdvice.js'

const packet = (change: Partial<PacketFigures> = {}): PacketFigures => ({
  ...{ levelDbfs: -15, toneBalanceDb: 0, clippedShare: 0 },
  ...change,
})
const advise = (...changes: Partial<PacketFigures>[]): string[] =>
  adviseOnPackets(changes.map(packet))

describe('what packets tell of the input', () => {
  it('is nothing where nothing is wrong, at the ends of what is good', () => {
    expect(advise({ levelDbfs: -30 }, { levelDbfs: -30 })).toEqual([])
    expect(advise({ levelDbfs: -6, clippedShare: 0.002, toneBalanceDb: -4 })).toEqual([])
    expect(advise({ toneBalanceDb: 8 })).toEqual([])
  })

  it('is the level, by the mean of all', () => {
    expect(advise({ levelDbfs: -40 }, { levelDbfs: -30 })).toEqual([
      'turn the input up by about 20 dB: packets come at -35 dBFS',
    ])
    expect(advise({ levelDbfs: -4 }, { levelDbfs: -2 })).toEqual([
      'turn the input down by about 12 dB: packets come at -3 dBFS, a louder sender would clip',
    ])
    expect(advise({ levelDbfs: -30.01 })).toHaveLength(1)
    expect(advise({ levelDbfs: -5.99 })).toHaveLength(1)
  })

  it('is clipping by the mean of all, and then no second word on a level that is too high', () => {
    const clipped = '1.0 % of samples clipped: turn the input down'
    expect(advise({ clippedShare: 0.02 }, { clippedShare: 0 })).toEqual([clipped])
    expect(advise({ levelDbfs: -3, clippedShare: 0.01 })).toEqual([clipped])
    expect(packetLevelAdvice([packet({ levelDbfs: -3, clippedShare: 0.01 })])).toEqual([])
    expect(advise({ levelDbfs: -40, clippedShare: 0.01 })).toHaveLength(2)
  })

  it('is the balance of the tones, by the mean of all, and of how many', () => {
    expect(advise({ toneBalanceDb: -5 })).toEqual([
      '2200 Hz tone 5 dB low, the mean of the packet heard: de-emphasised twice? Use the discriminator (9600 baud) output where there is one',
    ])
    expect(advise({ toneBalanceDb: 12 }, { toneBalanceDb: 8 })).toEqual([
      '2200 Hz tone 10 dB high, the mean of 2 packets heard: pre-emphasised twice, or an equaliser or noise filter on the way?',
    ])
    expect(advise({ toneBalanceDb: -4.01 })).toHaveLength(1)
    expect(advise({ toneBalanceDb: 8.01 })).toHaveLength(1)
    expect(balanceAdvice([])).toEqual([])
  })
})

describe('at 9600 bit/s', () => {
  const at = (toneBalanceDb: number): string[] =>
    advise({ levelDbfs: -12, bitRate: 9600, toneBalanceDb })

  it('a speaker is told from a flat port', () => {
    expect([at(1), at(4), at(-4)]).toEqual([[], [], []])
    expect(at(-9)).toEqual([
      '4 kHz comes 9 dB weaker than 400 Hz, the mean of the packet heard: 9600 bit/s need the flat port of the radio (discriminator, 9600), not the speaker or its output for 1200',
    ])
    expect(at(7)).toEqual([
      '4 kHz comes 7 dB stronger than 400 Hz, the mean of the packet heard: switch off what lifts high tones on the way (equaliser, noise filter of the card); the sender may have pre-emphasis, which 9600 bit/s do not want',
    ])
  })

  it('is judged so where the last packet was of that rate', () => {
    expect(advise({ bitRate: 9600, toneBalanceDb: -9 }, { toneBalanceDb: -9 })[0]).toMatch(/^2200/)
    expect(advise({ toneBalanceDb: -9 }, { bitRate: 9600, toneBalanceDb: -9 })[0]).toMatch(/^4 kHz/)
  })
})

it('a mean is that of all', () => {
  expect(mean([1, 2, 6])).toBe(3)
})
