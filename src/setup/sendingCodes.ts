import type { SendingCode } from '../../dsp/modem/modulateTransmission.js'
import type { RadioSection } from '../config/schema.js'

/** The forward error correction that a configuration, or an option of a command, names. */
export const sendingCodes: Readonly<
  Record<RadioSection['signal']['errorCorrection'], SendingCode | undefined>
> = {
  none: undefined,
  'fx25-16': { kind: 'fx25', checkOctets: 16 },
  'fx25-32': { kind: 'fx25', checkOctets: 32 },
  'fx25-64': { kind: 'fx25', checkOctets: 64 },
  il2p: { kind: 'il2p', hasCrc: false },
  'il2p-crc': { kind: 'il2p', hasCrc: true },
}
