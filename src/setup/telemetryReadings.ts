import { readFile } from 'node:fs/promises'
import { resolve } from 'node:path'
import type { BeaconsSection } from '../config/sections/beacons.js'
import { programOutput } from '../devices/programOutput.js'
import type { TelemetryChannel } from '../node/beaconOptions.js'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'

type ChannelSection = BeaconsSection['telemetry'][number]

export interface Readings {
  readonly channels: readonly TelemetryChannel[]
  /** settles when each was read once, well or not */
  readonly ready: Promise<void>
  close(): void
}

const readEveryMs = 60_000
const commandTimeoutMs = 5_000

/**
 * Reads what the telemetry sends, from files and commands, once a minute: a beacon takes the latest value.
 * @param folder of the configuration file; file names in it are relative to that
 * @param onFault told once for each channel when reading it begins to fail
 */
export function openReadings(
  sections: readonly ChannelSection[],
  folder: string,
  clock: Clock,
  onFault: (channel: string, reason: string) => void,
): Readings {
  const open = sections.map((section) => {
    let value: number | undefined
    let failed = false
    const read = async (): Promise<void> => {
      try {
        value = firstNumber(await readSource(section, folder)) * section.scale
        failed = false
      } catch (error) {
        value = undefined
        if (!failed) onFault(section.name, errorText(error))
        failed = true
      }
    }
    const { name, unit, step, offset } = section
    return { read, channel: { name, unit, step, offset, read: () => value } }
  })
  const readAll = async (): Promise<void> => {
    await Promise.all(open.map(({ read }) => read()))
  }
  const cancel: Cancel = open.length === 0 ? () => {} : every(clock, readEveryMs, readAll)
  return {
    channels: open.map(({ channel }) => channel),
    ready: readAll(),
    close: cancel,
  }
}

async function readSource(section: ChannelSection, folder: string): Promise<string> {
  if (section.file !== undefined) return readFile(resolve(folder, section.file), 'utf8')
  const limits = { timeLimitMs: commandTimeoutMs, octetsMax: 65_536, folder }
  return programOutput(section.command!, limits)
}

function firstNumber(text: string): number {
  const found = /[-+]?\d+(\.\d+)?/.exec(text)
  if (found === null) throw new Error(`got '${text.slice(0, 40).trim()}', expected a number`)
  return Number(found[0])
}
