import { answered } from '../devices/answered.js'
import type { SerialDevice, SerialLevels, SerialSettings } from '../devices/serialLine.js'
import type { Clock } from '../runtime/clock.js'
import { commandFailure, runCommand } from './childCommand.js'
import { gpioToolVersion, readWords } from './gpioOutput.js'

/** A switch, key or contact that stops all sending while it is on. */
export interface HoldInput {
  readonly name: string
  /** true while it is on; rejects when it cannot be read */
  read(): Promise<boolean>
  close(): Promise<void>
}

export interface HoldInputOptions {
  readonly kind: 'none' | 'serial' | 'gpio' | 'command'
  /** serial: /dev/ttyUSB0; gpio: gpiochip0. Never the port of the key line: opening a port raises its lines. */
  readonly device: string
  readonly line?: 'cts' | 'dsr' | 'dcd' | number | undefined
  readonly activeLow: boolean
  readonly command: readonly string[]
  readonly intervalMs: number
}

type MakeInput = (settings: SerialSettings) => SerialDevice | Promise<SerialDevice>

/** Loaded only where it is used. */
const makeRealDevice: MakeInput = async (settings) =>
  (await import('../devices/serialLine.js')).makeSerialDevice(settings)

/** Only the lines are read, never the data; the rate is there because opening asks for one. */
const unusedBitRate = 1200

const readMsMax = 2000

/** Nothing is opened before the first read; what fails is tried again at the next. */
export function createHoldInput(
  options: HoldInputOptions,
  clock: Clock,
  make: MakeInput = makeRealDevice,
): HoldInput | undefined {
  switch (options.kind) {
    case 'none':
      return undefined
    case 'command':
      return commandInput(options.command, clock)
    case 'gpio':
      return gpioInput(options, clock)
    case 'serial':
      return serialInput(options, make)
  }
}

function commandInput(command: readonly string[], clock: Clock): HoldInput {
  return {
    name: `command ${command.join(' ')}`,
    async read() {
      const { status } = await runCommand(command, clock, readMsMax)
      if (status === 'status 0') return true
      if (status === 'status 1') return false
      throw commandFailure(command, status)
    },
    async close() {},
  }
}

function gpioInput({ device, line, activeLow }: HoldInputOptions, clock: Clock): HoldInput {
  return {
    name: `GPIO ${device} line ${line}`,
    async read() {
      const version = await gpioToolVersion(clock)
      const words = readWords(version, { chip: device, line: Number(line) })
      const { status, output } = await runCommand(words, clock, readMsMax)
      const level = output.trim()
      if (status !== 'status 0' || (level !== '0' && level !== '1'))
        throw commandFailure(words, level === '' ? status : JSON.stringify(level))
      return (level === '1') !== activeLow
    },
    async close() {},
  }
}

function serialInput({ device, line, activeLow }: HoldInputOptions, make: MakeInput): HoldInput {
  const wanted = typeof line === 'string' ? line : 'cts'
  let port: SerialDevice | undefined
  const opened = async (): Promise<SerialDevice> => {
    if (port?.isOpen) return port
    const fresh = await make({ device, bitRate: unusedBitRate })
    fresh.on('error', () => {})
    await answered((done) => fresh.open(done))
    port = fresh
    return fresh
  }
  return {
    name: `serial ${device} ${wanted}`,
    async read() {
      const from = await opened()
      const levels = await answered<SerialLevels>((done) => from.get(done))
      return levels[wanted] !== activeLow
    },
    async close() {
      const open = port?.isOpen ? port : undefined
      if (open !== undefined) await answered((done) => open.close(done)).catch(() => {})
    },
  }
}
