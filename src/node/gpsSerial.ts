import type { Waits } from '../devices/reopening.js'
import type { MakeSerialDevice } from '../devices/serialLine.js'
import { readSerialLines } from '../devices/serialReader.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { Failure } from '../runtime/failure.js'
import type { Gps } from './gps.js'

export interface GpsSerialOptions {
  readonly device: string
  readonly lineBitRate: number
  readonly clock: Clock
  readonly gps: Gps
  readonly onFault: (failure: Failure) => void
  /** for tests; default a real serial line */
  readonly make?: MakeSerialDevice
}

const waits: Waits = { first: 1_000, longest: 60_000 }

/** Feeds a GPS from a serial line, and opens the line again when the device comes back. Returns what closes it. */
export function openGpsSerial({
  device,
  lineBitRate,
  clock,
  gps,
  onFault,
  make,
}: GpsSerialOptions): Cancel {
  let toldOfAbsence = false
  const close = readSerialLines({
    ...{ device, bitRate: lineBitRate, clock, waits, make },
    onLine(text) {
      toldOfAbsence = false
      gps.line(text)
    },
    onLost(reason) {
      // told once for each absence, not at every try
      if (toldOfAbsence) return
      toldOfAbsence = true
      onFault(
        new Failure({
          code: 'gps-lost',
          subject: device,
          got: reason,
          expected: 'a GPS that sends NMEA 0183',
          advice: 'check the cable and node.gps.device; it is tried again',
        }),
      )
    },
  })
  return () => void close()
}
