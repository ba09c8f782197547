import { spawn } from 'node:child_process'
import { lstatSync, readlinkSync, renameSync, rmSync, symlinkSync } from 'node:fs'
import { connect } from 'node:net'
import { tied } from '../devices/child.js'
import {
  type MakeSerialDevice,
  openSerialLine,
  type SerialSettings,
} from '../devices/serialLine.js'
import { errorText } from '../runtime/errorText.js'
import type { OpenStream } from './octetStream.js'

/** Octets over a TCP connection that we open. */
export const tcpStream =
  (host: string, port: number): OpenStream =>
  (handlers) => {
    const socket = connect({
      host,
      port,
      noDelay: true,
      keepAlive: true,
      // a modem that lost its power never says goodbye
      keepAliveInitialDelay: 30_000,
    })
    let reason = 'the other side hung up'
    socket.on('connect', () => handlers.onOpen())
    socket.on('data', (chunk: Uint8Array) => handlers.onOctets(chunk))
    socket.on('error', (error) => {
      reason = errorText(error)
    })
    socket.on('close', () => handlers.onClosed(reason))
    return {
      write: (octets) => void socket.write(octets),
      waitingOctets: () => socket.writableLength,
      close: () => void socket.destroy(),
    }
  }

/** Octets over a serial line. @param make for tests */
export const serialStream =
  (settings: SerialSettings, make?: MakeSerialDevice): OpenStream =>
  (handlers) => {
    const line = openSerialLine(settings, handlers, make)
    return { ...line, close: () => void line.close() }
  }

export interface PseudoTerminalOptions {
  /** where the terminal is to be found: a symbolic link, made anew each time */
  readonly path: string
  /** the program that makes the terminal */
  readonly socat?: string
}

/**
 * Octets over a pseudo-terminal for programs that want a serial device. A general-purpose relay program makes it,
 * because Node cannot. It is open while some program holds it open; nothing is kept for a program that comes later.
 */
export const pseudoTerminalStream =
  ({ path, socat = 'socat' }: PseudoTerminalOptions): OpenStream =>
  (handlers) => {
    // Even when we are killed it must end: otherwise it would wait for ever.
    const [command, ...leading] = tied([socat], 'TERM')
    // wait-slave: nothing is read from us before a program has opened the terminal. -d -d: its name and the start
    // of the transfer are told on standard error.
    const child = spawn(
      command!,
      [...leading, '-d', '-d', '-t', '0.02', '-', 'PTY,rawer,wait-slave,pty-interval=0.05'],
      { stdio: ['pipe', 'pipe', 'pipe'] },
    )
    let told = ''
    let ended = false
    const end = (reason: string): void => {
      if (ended) return
      ended = true
      removeLink(path, linked)
      handlers.onClosed(reason)
    }
    let linked: string | undefined
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      const lines = (told + text).split('\n')
      told = lines.pop()!.slice(0, 1000)
      for (const line of lines) {
        const terminal = / PTY is (\S+)/.exec(line)?.[1]
        if (terminal !== undefined) {
          linked = terminal
          const trouble = makeLink(path, terminal)
          if (trouble !== undefined) {
            child.kill()
            end(trouble)
          }
        } else if (line.includes('starting data transfer loop')) handlers.onOpen()
      }
    })
    child.stdout.on('data', (chunk: Uint8Array) => handlers.onOctets(chunk))
    child.stdin.on('error', () => {}) // it exits when the terminal is closed; 'close' tells
    child.on('error', (error: NodeJS.ErrnoException) =>
      end(
        error.code === 'ENOENT'
          ? `${socat} is not installed: install it, or remove kiss.pseudoTerminals`
          : errorText(error),
      ),
    )
    child.on('close', (code) => end(code === 0 ? closedByProgram : `${socat} ended with ${code}`))
    return {
      write: (octets) => void child.stdin.write(octets),
      waitingOctets: () => child.stdin.writableLength,
      close() {
        child.kill()
        removeLink(path, linked)
      },
    }
  }

/** The reason that pseudoTerminalStream gives when nothing is wrong. */
export const closedByProgram = 'the program closed it'

/** @returns in words why there is no link; undefined when there is one */
function makeLink(path: string, terminal: string): string | undefined {
  const fresh = `${path}.new`
  try {
    const there = lstatSync(path, { throwIfNoEntry: false })
    if (there !== undefined && !there.isSymbolicLink())
      return `${path} is there and no symbolic link: move it away`
    rmSync(fresh, { force: true })
    symlinkSync(terminal, fresh)
    renameSync(fresh, path)
    return undefined
  } catch (error) {
    return errorText(error)
  }
}

/** Only our own link: another process may have put its own there since. */
function removeLink(path: string, terminal: string | undefined): void {
  try {
    if (terminal !== undefined && readlinkSync(path) === terminal) rmSync(path, { force: true })
  } catch {
    // gone already
  }
}
