import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import {
  createServiceNotifier,
  type ServiceNotifierOptions,
  watchdogMs,
} from '../../src/setup/systemdNotify.js'
import { eventLog } from '../kiss/plainClient.js'

const runs = (program: string): boolean => spawnSync(program, ['--version']).status === 0

/** A socket of the kind that systemd has; Node cannot open one. Prints each message on a line. */
const receiver = `
import socket, sys
s = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
s.bind(sys.argv[1])
print('listening', flush=True)
while True:
    print(s.recv(4096).decode().replace('\\n', ' | '), flush=True)
`

const possible = runs('systemd-notify') && runs('python3')
describe.skipIf(!possible)(
  'systemd notification for real (needs systemd-notify and python3)',
  () => {
    let folder: string
    let listener: ChildProcess
    const log = eventLog()
    beforeEach(async () => {
      folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
      listener = spawn('python3', ['-c', receiver, join(folder, 'notify')])
      let unfinished = ''
      listener.stdout!.setEncoding('utf8').on('data', (text: string) => {
        const lines = (unfinished + text).split('\n')
        unfinished = lines.pop()!
        for (const line of lines) log.add(line)
      })
      await log.next(/listening/)
    })
    afterEach(() => {
      listener.kill()
      rmSync(folder, { recursive: true, force: true })
    })

    const start = (change: Partial<ServiceNotifierOptions> = {}) => {
      const clock = virtualClock()
      const faults = eventLog()
      const notifier = createServiceNotifier({
        env: {
          ...process.env,
          NOTIFY_SOCKET: join(folder, 'notify'),
          WATCHDOG_USEC: '30000000',
          WATCHDOG_PID: '4711',
        },
        clock,
        pid: 4711,
        whatIsWrong: () => undefined,
        onFault: faults.add,
        ...change,
      })
      return { clock, notifier, faults }
    }

    it('tells that it is ready, signs of life at a third of the time, and its end', async () => {
      const { clock, notifier } = start()
      notifier.ready('2 radios,\n receiving')
      await log.next(/STATUS=2 radios, receiving/)
      await log.next(/READY=1/)
      clock.advanceBy(10_000)
      await log.next(/^WATCHDOG=1/)
      clock.advanceBy(10_000)
      await log.next(/^WATCHDOG=1/)
      notifier.stopping()
      await log.next(/STOPPING=1/)
      expect(clock.nextAtMs() ?? 0).toBeLessThan(30_000 + 10_000)
      notifier.close()
    })

    it('gives no sign of life while something is wrong, and says what', async () => {
      let wrong: string | undefined = 'radio 0 hears no audio'
      const { clock, notifier } = start({ whatIsWrong: () => wrong })
      notifier.ready('receiving')
      await log.next(/READY=1/)
      clock.advanceBy(10_000)
      expect(await log.next(/WATCHDOG|unwell/)).toBe('STATUS=unwell: radio 0 hears no audio')
      wrong = undefined
      clock.advanceBy(10_000)
      expect(await log.next(/WATCHDOG|unwell/)).toBe('WATCHDOG=1')
      notifier.close()
    })

    it('a socket that nobody listens on is told of, and ends nothing', async () => {
      const { notifier, faults } = start({
        env: { ...process.env, NOTIFY_SOCKET: join(folder, 'nobody') },
      })
      notifier.ready('receiving')
      expect(await faults.next(/./)).toMatch(/systemd-notify: .*(No such file|notify)/)
      notifier.close()
    })
  },
)

describe('systemd notification', () => {
  it('does nothing where systemd did not start us', () => {
    const clock = virtualClock()
    const notifier = createServiceNotifier({
      env: { WATCHDOG_USEC: '1000000' },
      clock,
      pid: 1,
      whatIsWrong: () => undefined,
      onFault: (text) => {
        throw new Error(text)
      },
      program: 'no-such-program',
    })
    notifier.ready('receiving')
    notifier.status('x')
    notifier.stopping()
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('says when the program that sends is missing', async () => {
    const faults = eventLog()
    const notifier = createServiceNotifier({
      env: { NOTIFY_SOCKET: '/nowhere' },
      clock: virtualClock(),
      pid: 1,
      whatIsWrong: () => undefined,
      onFault: faults.add,
      program: 'no-such-program',
    })
    notifier.ready('receiving')
    expect(await faults.next(/./)).toMatch(/no-such-program: no such program/)
  })

  it.each([
    [{ WATCHDOG_USEC: '30000000' }, 30_000],
    [{ WATCHDOG_USEC: '30000000', WATCHDOG_PID: '7' }, 30_000],
    [{ WATCHDOG_USEC: '30000000', WATCHDOG_PID: '8' }, undefined],
    [{}, undefined],
    [{ WATCHDOG_USEC: 'soon' }, undefined],
    [{ WATCHDOG_USEC: '0' }, undefined],
  ])('reads the patience of the watchdog from %j', (env, expected) => {
    expect(watchdogMs(env, 7)).toBe(expected)
  })
})
