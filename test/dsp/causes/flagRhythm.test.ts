import { describe, expect, it } from 'vitest'
import { flagRhythm, rhythmWindows } from '../../../dsp/causes/flagRhythm.js'
import { modulateTransmission } from '../../../dsp/modem/modulateTransmission.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { usualFrame } from '../../channel/usualFrame.js'

const sampleRateHz = 12_000
const preambleMs = 300

/** The most that repeats itself as flags do, in the flags and in the frame behind them. */
function shares(octets: Uint8Array, flags: number, toneBalanceDb = 0) {
  const audio = modulateTransmission({
    frames: [octets],
    ...{ preambleMs, tailMs: 0, sampleRateHz, peakLevel: 0.3, toneBalanceDb },
  })
  const windows = rhythmWindows(flagRhythm(audio, 0), flags)
  const frameAt = windows.windowAt((preambleMs / 1000) * sampleRateHz)
  const most = (of: Float32Array): number => of.reduce((high, share) => Math.max(high, share), 0)
  return {
    inFlags: most(windows.share.subarray(0, frameAt)),
    inFrame: most(windows.share.subarray(frameAt)),
  }
}

const frameOf = (information: string): Uint8Array => {
  const address = (call: string, last: number): number[] => [
    ...[...call.padEnd(6)].map((letter) => letter.charCodeAt(0) << 1),
    0x60 | last,
  ]
  return Uint8Array.of(
    ...[...address('APZ001', 0), ...address('N0CALL', 1), 0x03, 0xf0],
    ...Buffer.from(information, 'latin1'),
  )
}

describe('flags by their rhythm', () => {
  it.each([
    ['digits', '0000000000000000111111111111111'],
    ['blanks', ' '.repeat(40)],
    ['dots', '.'.repeat(40)],
    ['tildes, which are flags but for stuffing,', '~'.repeat(40)],
    ['nothing but changes', '\0'.repeat(40)],
  ])('%s repeat themselves and are none', (_name, information) => {
    for (const toneBalanceDb of [-9, 0, 6]) {
      const { inFlags, inFrame } = shares(frameOf(information), 8, toneBalanceDb)
      expect(inFlags).toBeGreaterThan(0.95)
      expect(inFrame).toBeLessThan(0.53)
    }
  })

  it('nor is what is usually sent', () => {
    const random = seededRandom(21)
    for (let n = 0; n < 100; n++) expect(shares(usualFrame(random), 16).inFrame).toBeLessThan(0.5)
  })
})
