import { inBaseUnits } from '../config/baseUnits.js'
import type { Config, RadioSection } from '../config/schema.js'
import { isVox } from '../config/vox.js'
import type { TransmitOptions } from '../radio/transmitOptions.js'
import { sendingCodes } from './sendingCodes.js'

/** What a radio may send and how, out of the configuration. */
export function transmitOptions(config: Config, radio: RadioSection): TransmitOptions {
  const { ptt, signal } = radio
  const transmit = inBaseUnits(radio.transmit)
  const { enabled, timeOutMs, queueMax, reserveShare } = transmit
  const { keyDelayMs, tailMs, slotTimeMs, persistence, fullDuplex } = transmit
  const { enabled: hasMorse, ...morse } = transmit.morse
  return {
    ...{ enabled, timeOutMs, queueMax },
    call: config.station.call,
    access: { keyDelayMs, tailMs, slotTimeMs, persistence, fullDuplex },
    code: sendingCodes[signal.errorCorrection],
    bitRate: signal.bitRate,
    hangMs: ptt.hangMs,
    attackMs: ptt.attackMs ?? (isVox(radio) ? keyDelayMs : 0),
    dutyLimits: [
      { windowMs: transmit.dutyWindowMs, share: transmit.dutyShare },
      { windowMs: transmit.longDutyWindowMs, share: transmit.longDutyShare },
    ],
    // A node that does not answer acknowledges nothing: then all is there for who else sends.
    reserveShare: config.node.answer ? reserveShare : 0,
    identification: {
      intervalMs: transmit.identificationMs,
      quietMs: transmit.identificationQuietMs,
      destination: transmit.identificationDestination,
      morse: hasMorse ? morse : undefined,
    },
  }
}
