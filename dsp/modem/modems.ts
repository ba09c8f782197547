import {
  type BitRate,
  modulateTransmission,
  type TransmissionOptions,
} from './modulateTransmission.js'
import { type ModulatorOptions, modulateLevels, tonePeakOverRms } from './modulator.js'
import type { Receiver, ReceiverOptions } from './receivedFrame.js'
import { createReceiver } from './receiver.js'

/** Both directions at one bit rate. */
export interface Modem {
  readonly bitRate: BitRate
  /** @throws RangeError for a sample rate that the signal does not fit */
  createReceiver(options: ReceiverOptions): Receiver
  /** The audio of one transmission. @throws RangeError when a rate or a time is out of range */
  modulate(options: TransmissionOptions): Float32Array
  /** Levels, one a bit, as they are: neither NRZI nor scrambler. @throws RangeError likewise */
  modulateLevels(levels: Uint8Array, shape: ModulatorOptions): Float32Array
  /** Of what it modulates, linear: peakLevel over the root mean square. @param toneBalanceDb of two tones */
  peakOverRms(toneBalanceDb: number): number
}

/** The one of 1200 bit/s, which is always there. */
export const toneModem: Modem = {
  bitRate: 1200,
  createReceiver,
  modulate: modulateTransmission,
  modulateLevels,
  peakOverRms: tonePeakOverRms,
}

/** What another bit rate needs is loaded when it is asked for. */
export async function loadModem(bitRate: BitRate): Promise<Modem> {
  if (bitRate === 1200) return toneModem
  return (await import('./baseband/basebandModem.js')).modem
}
