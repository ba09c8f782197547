import { spawn } from 'node:child_process'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { harmlessText } from '../runtime/harmlessText.js'

/** Tells systemd how the service is; does nothing where systemd did not start us (NOTIFY_SOCKET is not set). */
export interface ServiceNotifier {
  /** start-up is over */
  ready(status: string): void
  /** one line that `systemctl status` shows */
  status(text: string): void
  /** an orderly end has begun */
  stopping(): void
  close(): void
}

export interface ServiceNotifierOptions {
  readonly env: NodeJS.ProcessEnv
  readonly clock: Clock
  /** our own process id, which WATCHDOG_PID must name where it is set */
  readonly pid: number
  /** in words what is wrong; undefined when all is well: only then does the watchdog get its sign of life */
  readonly whatIsWrong: () => string | undefined
  /** told when the messages do not get through */
  readonly onFault: (text: string) => void
  /** the program that sends; systemd's own unless a test says otherwise */
  readonly program?: string
}

/** A message that has not gone through by then is given up, ms. */
const sendMsMax = 10_000

/**
 * The protocol of sd_notify(3) goes over a UNIX datagram socket, which Node cannot open. So systemd's own
 * `systemd-notify` sends each message; it waits until systemd has read it, and the unit says NotifyAccess=all,
 * because the message comes from that child. One child runs at a time; what comes meanwhile is merged.
 * @see sd_notify(3), sd_watchdog_enabled(3), systemd-notify(1)
 */
export function createServiceNotifier(options: ServiceNotifierOptions): ServiceNotifier {
  const { env, clock, program = 'systemd-notify' } = options
  if ((env.NOTIFY_SOCKET ?? '') === '') return silent
  const waiting = new Map<string, string>()
  let sending = false
  let cancelWatchdog: Cancel = () => {}

  const sendNext = (): void => {
    if (sending || waiting.size === 0) return
    sending = true
    const message = [...waiting].map(([variable, value]) => `${variable}=${value}`)
    waiting.clear()
    const child = spawn(program, message, { env, stdio: ['ignore', 'ignore', 'pipe'] })
    const cancelKill = clock.at(clock.monotonicMs() + sendMsMax, () => child.kill('SIGKILL'))
    let said = ''
    let over = false
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      said = (said + text).slice(0, 300)
    })
    const end = (trouble: string | undefined): void => {
      // a program that could not be started tells of it by 'error' and by 'close'
      if (over) return
      over = true
      sending = false
      cancelKill()
      if (trouble !== undefined) options.onFault(`${program}: ${trouble}`)
      sendNext()
    }
    child.on('error', (error) => end(errorText(error)))
    child.on('close', (code, signal) =>
      end(code === 0 ? undefined : said.trim() || `ended with ${code ?? signal}`),
    )
  }
  const tell = (variable: string, value: string): void => {
    waiting.set(variable, value)
    sendNext()
  }
  const tellStatus = (text: string): void =>
    tell('STATUS', harmlessText(text.replaceAll(/\s+/g, ' ')))

  return {
    ready(status) {
      tellStatus(status)
      tell('READY', '1')
      cancelWatchdog()
      const intervalMs = watchdogMs(env, options.pid)
      if (intervalMs === undefined) return
      // a third of the time: one sign of life may be lost
      cancelWatchdog = every(clock, intervalMs / 3, () => {
        const wrong = options.whatIsWrong()
        if (wrong === undefined) tell('WATCHDOG', '1')
        else tellStatus(`unwell: ${wrong}`)
      })
    },
    status: tellStatus,
    stopping() {
      cancelWatchdog()
      tell('STOPPING', '1')
    },
    close: () => cancelWatchdog(),
  }
}

/** The watchdog's time limit, ms; undefined where there is none for this process. @see sd_watchdog_enabled(3) */
export function watchdogMs(env: NodeJS.ProcessEnv, pid: number): number | undefined {
  const { WATCHDOG_USEC, WATCHDOG_PID } = env
  if (WATCHDOG_PID !== undefined && Number(WATCHDOG_PID) !== pid) return undefined
  const ms = Number(WATCHDOG_USEC) / 1000
  return ms > 0 && Number.isFinite(ms) ? ms : undefined
}

const silent: ServiceNotifier = {
  ready: () => {},
  status: () => {},
  stopping: () => {},
  close: () => {},
}
