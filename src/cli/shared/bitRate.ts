import { InvalidArgumentError, Option } from 'commander'
import type { BitRate } from '../../../dsp/modem/modulateTransmission.js'

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
