import { spawnSync } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'

const folder = resolve(import.meta.dirname, '../../systemd')
const unit = readFileSync(join(folder, 'ridgepost.service'), 'utf8')
const has = (program: string): boolean => spawnSync(program, ['--version']).status === 0

describe('the systemd unit', () => {
  // systemd-analyze is part of systemd, which small machines and containers may lack
  it.skipIf(!has('systemd-analyze'))('systemd-analyze verify has nothing to say', () => {
    const { status, stdout, stderr } = spawnSync('systemd-analyze', [
      'verify',
      join(folder, 'ridgepost.service'),
    ])
    expect(`${stdout}${stderr}`).toBe('')
    expect(status).toBe(0)
  })

  it.skipIf(!has('systemd-analyze'))(
    'reaches little of the machine: exposure below 2.5 of 10',
    () => {
      const { status, stdout, stderr } = spawnSync('systemd-analyze', [
        'security',
        '--offline=true',
        '--threshold=25',
        join(folder, 'ridgepost.service'),
      ])
      expect(status, `${stdout}${stderr}`).toBe(0)
    },
  )

  it('notifies through a child, and leaves the dead-man helper time to unkey', () => {
    for (const line of ['Type=notify', 'NotifyAccess=all', 'KillMode=mixed', 'User=ridgepost'])
      expect(unit.split('\n')).toContain(line)
    expect(Number(/^WatchdogSec=(\d+)$/m.exec(unit)![1])).toBeGreaterThanOrEqual(30)
    // an owed identification may wait 12 s for the channel, a thread 20 s to close
    expect(Number(/^TimeoutStopSec=(\d+)$/m.exec(unit)![1])).toBeGreaterThan(30)
  })

  it('admits the devices that README.md speaks of, also those that are plugged in later', () => {
    const admitted = [...unit.matchAll(/^DeviceAllow=char-(\S+) rw$/gm)].map(([, group]) => group)
    // names of drivers in /proc/devices
    for (const group of ['alsa', 'ttyS', 'ttyUSB', 'ttyACM', 'rfcomm', 'gpiochip', 'hidraw', 'pts'])
      expect(admitted).toContain(group)
    // systemd.resource-control(5), DeviceAllow=: a group is known only while its module is loaded
    for (const order of ['Wants', 'After'])
      for (const module of ['snd', 'usbserial', 'cdc_acm', 'rfcomm'])
        expect(unit).toMatch(new RegExp(`^${order}=.*modprobe@${module}\\.service`, 'm'))
  })

  it('lets the dead-man helper run before all others', () => {
    expect(unit).toMatch(/^LimitNICE=-20$/m)
    if (!has('systemd-analyze')) return
    // the call that asks for it is let through
    const filter = (name: string) => spawnSync('systemd-analyze', ['syscall-filter', name]).stdout
    expect(`${filter('@system-service')}`).toContain('@resources')
    expect(`${filter('@resources')}`).toContain('setpriority')
    expect(`${filter('@privileged')}`).not.toMatch(/@resources|setpriority/)
  })

  it('every group that the unit asks for is made', () => {
    const made = readFileSync(join(folder, 'sysusers.conf'), 'utf8')
    const groups = /^SupplementaryGroups=(.*)$/m.exec(unit)![1]!.split(' ')
    for (const group of groups) expect(made).toMatch(new RegExp(`^g ${group} +-`, 'm'))
  })
})

const canInstall = has('systemd-sysusers') && has('systemd-tmpfiles') && process.getuid?.() === 0
describe.skipIf(!canInstall)('user, groups and folders (needs systemd and root)', () => {
  let root: string
  beforeEach(() => {
    root = mkdtempSync(join(tmpdir(), 'ridgepost-'))
    mkdirSync(join(root, 'etc/sysusers.d'), { recursive: true })
    mkdirSync(join(root, 'etc/tmpfiles.d'))
    cpSync(join(folder, 'sysusers.conf'), join(root, 'etc/sysusers.d/ridgepost.conf'))
    cpSync(join(folder, 'tmpfiles.conf'), join(root, 'etc/tmpfiles.d/ridgepost.conf'))
  })
  afterEach(() => rmSync(root, { recursive: true, force: true }))

  it('are made in a fresh root', () => {
    for (const [program, ...rest] of [['systemd-sysusers'], ['systemd-tmpfiles', '--create']]) {
      const { status, stderr } = spawnSync(program!, [...rest, `--root=${root}`])
      expect(status, String(stderr)).toBe(0)
    }
    const passwd = readFileSync(join(root, 'etc/passwd'), 'utf8')
    expect(passwd).toMatch(/^ridgepost:.*:\/var\/lib\/ridgepost:\/usr\/sbin\/nologin$/m)
    const groups = readFileSync(join(root, 'etc/group'), 'utf8')
    for (const group of ['ridgepost', 'dialout', 'audio', 'gpio', 'plugdev'])
      expect(groups).toMatch(new RegExp(`^${group}:`, 'm'))
    expect(statSync(join(root, 'etc/ridgepost')).mode & 0o777).toBe(0o750)
  })
})

describe('the udev rules', () => {
  const rules = readFileSync(join(folder, '85-ridgepost.rules'), 'utf8')
  it('are made of conditions and assignments only, each with its value in quotes', () => {
    // udev(7): KEY or KEY{name}, an operator, a value in double quotes, separated by commas
    const part = /^[A-Z]+(\{[^}]+\})?(==|!=|\+=|:=|=)"[^"]*"$/
    const lines = rules.split('\n').map((line) => line.replace(/^#(?=SUBSYSTEM)/, ''))
    const written = lines.filter((line) => line !== '' && !line.startsWith('#'))
    expect(written.length).toBeGreaterThanOrEqual(6)
    for (const line of written) for (const one of line.split(/, /)) expect(one, line).toMatch(part)
  })
})
