import type { Config, RadioSection } from '../config/schema.js'
import { isVox } from '../config/vox.js'
import type { TransmitOptions } from '../radio/transmitOptions.js'

/** What a radio may send and how, out of the configuration. */
export function transmitOptions(config: Config, radio: RadioSection): TransmitOptions {
  const { ptt, transmit } = radio
  const { morse } = transmit
  return {
    enabled: transmit.enabled,
    call: config.station.call,
    access: {
      keyDelayMs: transmit.keyDelayMs,
      tailMs: transmit.tailMs,
      slotTimeMs: transmit.slotTimeMs,
      persistence: transmit.persistence,
      fullDuplex: transmit.fullDuplex,
    },
    timeOutMs: transmit.timeOutMs,
    hangMs: ptt.hangMs,
    attackMs: ptt.attackMs ?? (isVox(radio) ? transmit.keyDelayMs : 0),
    dutyLimits: [
      { windowMs: transmit.dutyWindowMinutes * 60_000, share: transmit.dutyPercent / 100 },
      { windowMs: transmit.longDutyWindowMinutes * 60_000, share: transmit.longDutyPercent / 100 },
    ],
    // A node that does not answer acknowledges nothing: then all is there for who else sends.
    reserveShare: config.node.answer ? transmit.reservePercent / 100 : 0,
    identification: {
      intervalMs: transmit.identificationMinutes * 60_000,
      quietMs: transmit.identificationQuietS * 1000,
      destination: transmit.identificationDestination,
      morse: morse.enabled
        ? { wordsPerMinute: morse.wordsPerMinute, toneHz: morse.toneHz }
        : undefined,
    },
    queueMax: transmit.queueMax,
  }
}
