import type { BitRate } from '../../dsp/modem/modulateTransmission.js'
import { Failure } from '../runtime/failure.js'

/** A signal of 9600 bit/s reaches up to 7.5 kHz. */
const basebandRateHzMin = 19_200

/** @throws Failure where audio has too few samples a second for what is to be in it */
export function checkBitRate(bitRate: BitRate, sampleRateHz: number, subject: string): void {
  if (bitRate === 1200 || sampleRateHz >= basebandRateHzMin) return
  throw new Failure({
    ...{ code: 'bit-rate-sample-rate', subject },
    ...{ got: `${sampleRateHz} samples a second`, expected: `${basebandRateHzMin} or more` },
    advice: 'a signal of 9600 bit/s reaches up to 7.5 kHz; record it anew at 48000',
  })
}
