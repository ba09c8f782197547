import { readFileSync } from 'node:fs'
import { z } from 'zod'
import { replaceFile } from '../devices/replaceFile.js'
import type { RadioPort } from '../radio/radioPort.js'
import { wrapPort } from '../radio/wrapPort.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'

/** The source under which the operator holds: at the terminal, on the page, through the operator's socket. */
export const operatorSource = 'operator'

/** The operator's holds, kept over restarts: what was stopped by hand does not send again because the power failed. */
export interface KeptHolds {
  /** The same radio; what the operator holds through it is kept. A hold of a former run holds from now on. */
  wrap(port: RadioPort): RadioPort
  /** Ends the operator's hold of this radio by itself after so long; after a restart the time begins anew. */
  endAfter(port: RadioPort, durationMs: number): void
  close(): void
}

interface Kept {
  readonly reason: string
  readonly durationMs?: number | undefined
}

/** A reason grows as it is written without control characters; a longer one would be damage to the next run. */
const reasonCharactersMax = 400

const fileSchema = z.record(
  z.string().regex(/^\d{1,2}$/),
  z.object({
    reason: z.string().max(reasonCharactersMax),
    durationMs: z.number().positive().optional(),
  }),
)

/** @param options.file undefined where nothing is kept */
export function keptHolds(options: {
  readonly file: string | undefined
  readonly clock: Clock
  readonly onFault: (text: string) => void
}): KeptHolds {
  const { file, clock, onFault } = options
  const kept = new Map<string, Kept>(file === undefined ? [] : read(file, onFault))
  const timers = new Map<string, Cancel>()

  const write = (): void => {
    if (file === undefined) return
    try {
      replaceFile(file, `${JSON.stringify(Object.fromEntries(kept), null, 2)}\n`)
    } catch (error) {
      onFault(`what is held now, or no more, is not kept over a restart: ${errorText(error)}`)
    }
  }
  const stopTimer = (radio: string): void => {
    timers.get(radio)?.()
    timers.delete(radio)
  }
  const startTimer = (port: RadioPort, durationMs: number): void => {
    const radio = String(port.radio)
    stopTimer(radio)
    timers.set(
      radio,
      clock.at(clock.monotonicMs() + durationMs, () => port.release(operatorSource)),
    )
  }

  return {
    wrap(inner) {
      const radio = String(inner.radio)
      const port = wrapPort(inner, {
        hold(source, reason) {
          inner.hold(source, reason)
          if (source !== operatorSource) return
          stopTimer(radio)
          kept.set(radio, { reason: reason.slice(0, reasonCharactersMax) })
          write()
        },
        release(source) {
          inner.release(source)
          if (source !== operatorSource) return
          stopTimer(radio)
          if (kept.delete(radio)) write()
        },
      })
      const former = kept.get(radio)
      if (former !== undefined) {
        inner.hold(operatorSource, former.reason)
        if (former.durationMs !== undefined) startTimer(port, former.durationMs)
      }
      return port
    },
    endAfter(port, durationMs) {
      const radio = String(port.radio)
      const hold = kept.get(radio)
      if (hold === undefined) return
      kept.set(radio, { ...hold, durationMs })
      write()
      startTimer(port, durationMs)
    },
    close() {
      for (const cancel of timers.values()) cancel()
      timers.clear()
    },
  }
}

/** A file that cannot be read holds every radio: somebody may have wanted that. */
function read(file: string, onFault: (text: string) => void): [string, Kept][] {
  let text: string
  try {
    text = readFileSync(file, 'utf8')
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return []
    onFault(
      `${file}: the operator's holds of the last run cannot be read (${errorText(error)}): all radios are held; release them`,
    )
    return allRadios
  }
  const parsed = fileSchema.safeParse(jsonOf(text))
  if (parsed.success) return Object.entries(parsed.data)
  onFault(
    `${file}: the operator's holds of the last run are damaged: all radios are held; release them`,
  )
  return allRadios
}

const allRadios: [string, Kept][] = Array.from({ length: 16 }, (_, radio) => [
  String(radio),
  { reason: 'the holds of the last run could not be read' },
])

function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text)
  } catch {
    return undefined
  }
}
