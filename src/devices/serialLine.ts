import { SerialPort } from 'serialport'
import { errorText } from '../runtime/errorText.js'
import { answered } from './answered.js'
import { serialBinding } from './serialRead.js'

/** What a line is opened with: 8 data bits, no parity, 1 stop bit. */
export interface SerialSettings {
  readonly device: string
  readonly bitRate: number
  /** writes wait for CTS, and RTS asks the other side to wait */
  readonly hardwareFlowControl?: boolean | undefined
}

export interface SerialLevels {
  readonly cts: boolean
  readonly dsr: boolean
  readonly dcd: boolean
}

type Done = (error: Error | null | undefined) => void

/** The part of the serialport package that the program uses; its mock has it too. */
export interface SerialDevice {
  readonly isOpen: boolean
  readonly writableLength: number
  open(done: Done): void
  close(done: Done): void
  write(octets: Uint8Array): boolean
  set(levels: { readonly rts: boolean; readonly dtr: boolean }, done: Done): void
  get(done: (error: Error | null, levels?: SerialLevels) => void): void
  on(event: 'data', listener: (chunk: Buffer) => void): unknown
  on(event: 'error' | 'close', listener: (error?: Error | null) => void): unknown
}

/** Makes a device that is not open yet. */
export type MakeSerialDevice = (settings: SerialSettings) => SerialDevice

/**
 * The one place that makes a real line. No flow control by characters: they are data as well (KISS s.2-3).
 * RTS and DTR fall when the line is closed or the process dies (hang-up on close), which is what unkeys a radio.
 */
export const makeSerialDevice: MakeSerialDevice = ({ device, bitRate, hardwareFlowControl }) =>
  new SerialPort({
    ...{ path: device, baudRate: bitRate, dataBits: 8, stopBits: 1, parity: 'none' },
    ...{ rtscts: hardwareFlowControl ?? false, hupcl: true, autoOpen: false },
    ...{ binding: serialBinding },
  })

export interface SerialHandlers {
  readonly onOpen: () => void
  readonly onOctets: (chunk: Buffer) => void
  /** once: it could not be opened, was unplugged, or was closed; why, in words */
  readonly onClosed: (reason: string) => void
}

export interface SerialLine {
  write(octets: Uint8Array): void
  /** octets that were written and are not out yet */
  waitingOctets(): number
  /** May be called at any moment, also while it opens; resolves when the device is free. */
  close(): Promise<void>
}

/** Octets over a serial line, from its opening to its end. */
export function openSerialLine(
  settings: SerialSettings,
  { onOpen, onOctets, onClosed }: SerialHandlers,
  make: MakeSerialDevice = makeSerialDevice,
): SerialLine {
  const device = make(settings)
  let over = false
  let wanted = true
  const end = (reason: string): void => {
    if (over) return
    over = true
    onClosed(reason)
  }
  // The package tells of a failed write by 'error', of a lost device by 'close' with an error.
  device.on('data', (chunk) => over || onOctets(chunk))
  device.on('error', (error) => {
    end(errorText(error))
    if (device.isOpen) device.close(() => {})
  })
  device.on('close', (error) => end(error ? errorText(error) : 'the line was closed'))
  const opening = new Promise<void>((resolve) => {
    device.open((error) => {
      resolve()
      if (error) end(errorText(error))
      else if (wanted) onOpen()
      else device.close(() => {})
    })
  })
  return {
    write: (octets) => void device.write(octets),
    waitingOctets: () => device.writableLength,
    async close() {
      wanted = false
      await opening
      if (device.isOpen) await answered((done) => device.close(done)).catch(() => {})
    },
  }
}
