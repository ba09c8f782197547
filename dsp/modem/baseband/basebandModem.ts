import type { Modem } from '../modems.js'
import { createBasebandReceiver } from './basebandReceiver.js'
import { modulateBasebandTransmission } from './modulateBaseband.js'
import { pulseEnergy, pulsePeak } from './pulse.js'

export const modem: Modem = {
  createReceiver: createBasebandReceiver,
  modulate: modulateBasebandTransmission,
  peakOverRms: () => pulsePeak / Math.sqrt(pulseEnergy),
}
