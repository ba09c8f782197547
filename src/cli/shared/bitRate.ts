import { InvalidArgumentError, Option } from 'commander'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'
import { Failure } from '../../runtime/failure.js'

/** The rate on the air, of a command that knows no radio. */
export const bitRateOption = (text: string): Option =>
  new Option('--bit-rate <rate>', text)
    .choices(['1200', '9600'])
    .argParser((value): BitRate => {
      if (value === '1200') return 1200
      if (value === '9600') return 9600
      throw new InvalidArgumentError('Allowed choices are 1200, 9600.')
    })
    .default(1200)

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
