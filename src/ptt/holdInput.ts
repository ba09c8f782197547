import type { SerialPort, SerialPortMock } from 'serialport'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
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

export type OpenInputPort = (options: {
  path: string
  baudRate: number
  autoOpen: false
}) => SerialPort | SerialPortMock | Promise<SerialPort>

const readMsMax = 2000

/** Nothing is opened before the first read; what fails is tried again at the next. */
export function createHoldInput(
  options: HoldInputOptions,
  clock: Clock,
  openPort: OpenInputPort = openRealPort,
): HoldInput | undefined {
  switch (options.kind) {
    case 'none':
      return undefined
    case 'command':
      return commandInput(options.command, clock)
    case 'gpio':
      return gpioInput(options, clock)
    case 'serial':
      return serialInput(options, openPort)
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

function serialInput(
  { device, line, activeLow }: HoldInputOptions,
  openPort: OpenInputPort,
): HoldInput {
  const wanted = typeof line === 'string' ? line : 'cts'
  let port: SerialPort | SerialPortMock | undefined
  const opened = async (): Promise<SerialPort | SerialPortMock> => {
    if (port?.isOpen) return port
    const fresh = await openPort({ path: device, baudRate: 1200, autoOpen: false })
    fresh.on('error', () => {})
    await new Promise<void>((resolve, reject) => {
      fresh.open((error) => (error ? reject(new Error(errorText(error))) : resolve()))
    })
    port = fresh
    return fresh
  }
  return {
    name: `serial ${device} ${wanted}`,
    async read() {
      const from = await opened()
      const levels = await new Promise<{ cts: boolean; dsr: boolean; dcd: boolean }>(
        (resolve, reject) => {
          from.get((error, status) =>
            error || status === undefined
              ? reject(error ?? new Error(`${device}: no answer`))
              : resolve(status),
          )
        },
      )
      return levels[wanted] !== activeLow
    },
    async close() {
      const open = port?.isOpen ? port : undefined
      if (open !== undefined) await new Promise<void>((resolve) => open.close(() => resolve()))
    },
  }
}

/** Loaded only where it is used. */
const openRealPort: OpenInputPort = async (port) =>
  new (await import('serialport')).SerialPort(port)
