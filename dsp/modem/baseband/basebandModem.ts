import type { Modem } from '../modems.js'
import { createBasebandReceiver } from './basebandReceiver.js'
import { modulateBasebandTransmission, modulateBits } from './modulateBaseband.js'
import { basebandBitRate, pulseEnergy, pulsePeak } from './pulse.js'

export const modem: Modem = {
  bitRate: basebandBitRate,
  createReceiver: createBasebandReceiver,
  modulate: modulateBasebandTransmission,
  modulateLevels: modulateBits,
  peakOverRms: () => pulsePeak / Math.sqrt(pulseEnergy),
}
