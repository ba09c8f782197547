import type { Clock } from '../runtime/clock.js'
import { createReopening, type Waits } from './reopening.js'
import {
  type MakeSerialDevice,
  openSerialLine,
  type SerialLine,
  type SerialSettings,
} from './serialLine.js'

export interface SerialReaderOptions extends SerialSettings {
  readonly clock: Clock
  readonly waits: Waits
  /** without its line feed; at most the last 1,000 characters of a longer one */
  readonly onLine: (text: string) => void
  /** the device is not there, or is gone; why, in words. It is tried anew. */
  readonly onLost: (reason: string) => void
  /** for tests */
  readonly make?: MakeSerialDevice | undefined
}

/** A line without an end is noise, or the wrong speed. */
const lineCharactersMax = 1_000

/**
 * Lines of text (Latin 1) from a device that speaks by itself; it is opened anew when it comes back.
 * @returns what closes it, for good; resolves when the device is free
 */
export function readSerialLines(options: SerialReaderOptions): () => Promise<void> {
  const { clock, waits, onLine, onLost, make } = options
  let line: SerialLine | undefined
  let closed = false
  const open = (): void => {
    let pending = ''
    line = openSerialLine(
      options,
      {
        onOpen: () => {},
        onOctets(chunk) {
          reopening.sound()
          const parts = (pending + chunk.toString('latin1')).split('\n')
          pending = parts.pop()!.slice(-lineCharactersMax)
          for (const part of parts) if (!closed) onLine(part.slice(-lineCharactersMax))
        },
        onClosed(reason) {
          if (closed) return
          onLost(reason)
          reopening.later()
        },
      },
      make,
    )
  }
  const reopening = createReopening(clock, waits, open)
  open()
  return async () => {
    closed = true
    reopening.cancel()
    await line?.close()
  }
}
