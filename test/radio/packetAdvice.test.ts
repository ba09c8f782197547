import { expect, it } from 'vitest'
import { adviseOnPackets } from '../../src/radio/packetAdvice.js'

it('at 9600 bit/s a speaker is told from a flat port', () => {
  const packet = { levelDbfs: -12, clippedShare: 0, bitRate: 9600 } as const
  const advice = (toneBalanceDb: number) => adviseOnPackets([{ ...packet, toneBalanceDb }])
  expect(advice(1)).toEqual([])
  expect(advice(-9)).toEqual([
    expect.stringMatching(/^4 kHz comes 9 dB weaker than 400 Hz.*need the flat port of the radio/),
  ])
  expect(advice(7)).toEqual([expect.stringMatching(/^4 kHz comes 7 dB stronger/)])
})
