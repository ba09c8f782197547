import { SerialPort } from 'serialport'
import { createReopening, type Waits } from '../devices/reopening.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import type { Gps } from './gps.js'

/** The part of a serial line that is used; serialport's own class, or its mock in tests. */
export interface SerialLine {
  on(event: 'data', listener: (chunk: Buffer) => void): unknown
  on(event: 'error' | 'close', listener: (error?: Error | null) => void): unknown
  open(callback: (error: Error | null) => void): void
  close(callback?: (error: Error | null) => void): void
  readonly isOpen: boolean
}

export interface GpsSerialOptions {
  readonly device: string
  readonly baud: number
  readonly clock: Clock
  readonly gps: Gps
  readonly onFault: (failure: Failure) => void
  /** for tests; default a real serial line */
  readonly makeLine?: (device: string, baud: number) => SerialLine
}

const pausesMs: Waits = { first: 1_000, longest: 60_000 }
/** A line without an end is noise, or the wrong speed. */
const pendingCharactersMax = 1_000

/** Feeds a GPS from a serial line, and opens the line again when the device comes back. Returns what closes it. */
export function openGpsSerial(options: GpsSerialOptions): Cancel {
  const { clock, gps, device, baud } = options
  const makeLine = options.makeLine ?? realLine
  let closed = false
  let toldOfAbsence = false
  let line: SerialLine | undefined

  const again = (error: Error | null | undefined): void => {
    if (closed) return
    // told once for each absence, not at every try
    if (!toldOfAbsence) {
      toldOfAbsence = true
      options.onFault(
        new Failure({
          code: 'gps-lost',
          subject: device,
          got: error ? errorText(error) : 'the line closed',
          expected: 'a GPS that sends NMEA 0183',
          advice: 'check the cable and node.gps.device; it is tried again',
          cause: error,
        }),
      )
    }
    reopening.later()
  }

  const open = (): void => {
    const own = makeLine(device, baud)
    line = own
    let pending = ''
    let over = false
    const end = (error?: Error | null): void => {
      if (over) return
      over = true
      again(error)
    }
    own.on('data', (chunk) => {
      toldOfAbsence = false
      reopening.sound()
      const parts = (pending + chunk.toString('latin1')).split('\n')
      pending = parts.pop()!.slice(-pendingCharactersMax)
      for (const part of parts) gps.line(part)
    })
    own.on('error', end)
    own.on('close', end)
    own.open((error) => {
      if (error !== null) end(error)
      else if (closed) own.close()
    })
  }

  const reopening = createReopening(clock, pausesMs, open)
  open()
  return () => {
    closed = true
    reopening.cancel()
    if (line?.isOpen) line.close()
  }
}

const realLine = (path: string, baudRate: number): SerialLine =>
  new SerialPort({ path, baudRate, autoOpen: false })
