import { describe, expect, it } from 'vitest'
import { adviseOnPackets, damagedCauses } from '../../src/radio/packetAdvice.js'

describe('the causes of a damaged frame', () => {
  it.each([
    [-45, 0, 0, [/^turn the input up by about 30 dB: packets come at -45 dBFS$/]],
    [-12, -9, 0, [/^space tone 9 dB low, .*use the discriminator/]],
    [-12, 11, 0, [/^space tone 11 dB high/]],
    [-4, 0, 0.02, [/^turn the input down: 2\.0 % of samples clipped$/]],
    [-4, -9, 0.02, [/^turn the input down/, /^space tone 9 dB low/]],
    [-12, 0, 0, [/^level and tones were in order/]],
    // The noise of an open squelch is loud: no reason to turn anything down.
    [-3, 0, 0, [/^level and tones were in order/]],
  ])('%d dBFS, tones %d dB, clipped %d', (levelDbfs, toneBalanceDb, clippedShare, wanted) => {
    const causes = damagedCauses({ levelDbfs, toneBalanceDb }, clippedShare)
    expect(causes).toHaveLength(wanted.length)
    for (const [at, cause] of causes.entries()) expect(cause).toMatch(wanted[at]!)
  })
})

it('at 9600 bit/s a speaker is told from a flat port', () => {
  const packet = { levelDbfs: -12, clippedShare: 0, bitRate: 9600 } as const
  const advice = (toneBalanceDb: number) => adviseOnPackets([{ ...packet, toneBalanceDb }])
  expect(advice(1)).toEqual([])
  expect(advice(-9)).toEqual([
    expect.stringMatching(/^4 kHz comes 9 dB weaker than 400 Hz.*need the flat port of the radio/),
  ])
  expect(advice(7)).toEqual([expect.stringMatching(/^4 kHz comes 7 dB stronger/)])
  const [cause] = damagedCauses({ levelDbfs: -12, toneBalanceDb: -9, bitRate: 9600 }, 0)
  expect(cause).toContain('need the flat port')
})
