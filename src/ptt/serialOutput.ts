import { SerialPort, type SerialPortMock } from 'serialport'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import type { PttOutput } from './pttOutput.js'

/** Only the two lines are used, never the data; the rate is there because opening asks for one. */
const unusedBaudRate = 1200

type Port = SerialPort | SerialPortMock
export type OpenPort = (options: {
  path: string
  baudRate: number
  autoOpen: false
  hupcl: true
}) => Port

/**
 * RTS or DTR of a serial port, either polarity. The line that does not key is held off.
 * The operating system raises both lines while it opens a port: some milliseconds pass before this output has them off.
 * On close, or when the process dies, the operating system drops both lines (hang-up on close), which unkeys
 * an active-high interface.
 * @throws Failure 'ptt-serial' when the port cannot be opened or has no such lines
 */
export async function openSerialOutput(
  options: { device: string; line: 'rts' | 'dtr' | 'both'; activeLow: boolean },
  openPort: OpenPort = (portOptions) => new SerialPort(portOptions),
): Promise<PttOutput> {
  const { device, line, activeLow } = options
  const port = openPort({
    path: device,
    baudRate: unusedBaudRate,
    autoOpen: false,
    hupcl: true,
  })
  // The stream repeats every failed call as an event; the call's own answer is enough.
  port.on('error', () => {})
  const set = async (on: boolean): Promise<void> => {
    const level = on !== activeLow
    await answer(device, 'set the line', (done) =>
      port.set({ rts: line !== 'dtr' && level, dtr: line !== 'rts' && level }, done),
    )
  }
  await answer(device, 'open', (done) => port.open(done))
  try {
    await set(false)
  } catch (failure) {
    port.close()
    throw failure
  }
  return {
    name: `serial ${device} ${line}${activeLow ? ', active low' : ''}`,
    key: () => set(true),
    unkey: () => set(false),
    async close() {
      if (!port.isOpen) return
      await set(false).finally(() => answer(device, 'close', (done) => port.close(done)))
    },
  }
}

/** Turns a call with a callback into a promise, and its error into a Failure. */
function answer(
  device: string,
  what: string,
  call: (done: (error: Error | null | undefined) => void) => void,
): Promise<void> {
  return new Promise((resolve, reject) => {
    call((error) => {
      if (!error) return resolve()
      reject(
        new Failure({
          code: 'ptt-serial',
          subject: device,
          got: `${errorText(error)} (${what})`,
          expected: 'a serial port with RTS and DTR lines',
          advice: 'check ptt.device, and that the user may open it',
          cause: error,
        }),
      )
    })
  })
}
