import { answered } from '../devices/answered.js'
import { type MakeSerialDevice, makeSerialDevice } from '../devices/serialLine.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import type { PttOutput } from './pttOutput.js'

/** Only the two lines are used, never the data; the rate is there because opening asks for one. */
const unusedBitRate = 1200

/**
 * RTS or DTR of a serial port, either polarity. The line that does not key is held off.
 * The operating system raises both lines while it opens a port: some milliseconds pass before this output has them off.
 * On close, or when the process dies, the operating system drops both lines (hang-up on close), which unkeys
 * an active-high interface.
 * @throws Failure 'ptt-serial' when the port cannot be opened or has no such lines
 */
export async function openSerialOutput(
  options: { device: string; line: 'rts' | 'dtr' | 'both'; activeLow: boolean },
  make: MakeSerialDevice = makeSerialDevice,
): Promise<PttOutput> {
  const { device, line, activeLow } = options
  const port = make({ device, bitRate: unusedBitRate })
  // The stream repeats every failed call as an event; the call's own answer is enough.
  port.on('error', () => {})
  const set = async (on: boolean): Promise<void> => {
    const level = on !== activeLow
    await asked(device, 'set the line', (done) =>
      port.set({ rts: line !== 'dtr' && level, dtr: line !== 'rts' && level }, done),
    )
  }
  await asked(device, 'open', (done) => port.open(done))
  try {
    await set(false)
  } catch (failure) {
    port.close(() => {})
    throw failure
  }
  return {
    name: `serial ${device} ${line}${activeLow ? ', active low' : ''}`,
    key: () => set(true),
    unkey: () => set(false),
    async close() {
      if (!port.isOpen) return
      await set(false).finally(() => asked(device, 'close', (done) => port.close(done)))
    },
  }
}

/** Its error becomes a Failure. */
async function asked(device: string, what: string, call: Parameters<typeof answered>[0]) {
  try {
    await answered(call)
  } catch (error) {
    throw new Failure({
      code: 'ptt-serial',
      subject: device,
      got: `${errorText(error)} (${what})`,
      expected: 'a serial port with RTS and DTR lines',
      advice: 'check ptt.device, and that the user may open it',
      cause: error,
    })
  }
}
