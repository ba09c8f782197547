import { existsSync } from 'node:fs'
import type { HoldInput } from '../ptt/holdInput.js'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { RadioPort } from './radioPort.js'

export interface HoldWatchOptions {
  readonly port: Pick<RadioPort, 'hold' | 'release'>
  readonly clock: Clock
  /** while a file of this name exists nothing is sent; empty for none */
  readonly file: string
  readonly input: HoldInput | undefined
  readonly inputIntervalMs: number
}

export interface HoldWatch {
  close(): Promise<void>
}

const fileIntervalMs = 250

/**
 * Holds a radio while a file exists or a contact is closed. A contact that cannot be read holds too: whoever wired it
 * wants to be able to stop the transmitter.
 */
export function watchHolds(options: HoldWatchOptions): HoldWatch {
  const { port, clock, file, input } = options
  const cancels: Cancel[] = []
  let closed = false

  if (file !== '') {
    const look = (): void => {
      if (existsSync(file)) port.hold('file', `${file} exists`)
      else port.release('file')
    }
    look()
    cancels.push(every(clock, fileIntervalMs, look))
  }
  if (input !== undefined) {
    let reading = false
    const look = async (): Promise<void> => {
      if (reading) return
      reading = true
      try {
        const on = await input.read()
        if (closed) return
        if (on) port.hold('input', `${input.name} is on`)
        else port.release('input')
      } catch (error) {
        const got = errorText(error)
        if (!closed) port.hold('input', `${input.name} cannot be read: ${got}`)
      } finally {
        reading = false
      }
    }
    port.hold('input', `${input.name} has not been read yet`)
    void look()
    cancels.push(every(clock, options.inputIntervalMs, () => void look()))
  }
  return {
    async close() {
      closed = true
      for (const cancel of cancels) cancel()
      await input?.close()
    },
  }
}
