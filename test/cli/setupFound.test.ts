import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { findDevices } from '../../src/cli/setup/foundDevices.js'
import { placeOf } from '../../src/cli/setup/stationSteps.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

describe('what this machine has', () => {
  it('serial lines by their stable names, chips of the audio family first, ports that are none left out', async () => {
    const root = join(folder, 'root')
    const make = (path: string, text = ''): void => {
      mkdirSync(join(root, path, '..'), { recursive: true })
      writeFileSync(join(root, path), text)
    }
    for (const name of ['ttyUSB0', 'ttyAMA0', 'gpiochip0', 'gpiochip10', 'gpiochip2'])
      make(`dev/${name}`)
    mkdirSync(join(root, 'dev/serial/by-id'), { recursive: true })
    symlinkSync('../../ttyUSB0', join(root, 'dev/serial/by-id/usb-Bridge_01'))
    for (const name of ['ttyUSB0', 'ttyAMA0']) make(`sys/class/tty/${name}/device`)
    make('sys/class/tty/ttyS0/device')
    make('sys/class/tty/ttyS0/type', '0\n')
    make('sys/class/tty/tty1/dev', '4:1')
    make(
      'sys/class/hidraw/hidraw0/device/uevent',
      'HID_ID=0003:0000046D:0000C31C\nHID_NAME=A Keyboard\n',
    )
    make(
      'sys/class/hidraw/hidraw1/device/uevent',
      'HID_ID=0003:00000D8C:0000013C\nHID_NAME=USB Audio\n',
    )
    const { serialLines, gpioChips, hids } = await findDevices({ PATH: '' }, root)
    expect(serialLines).toEqual([
      { device: '/dev/serial/by-id/usb-Bridge_01', about: 'ttyUSB0' },
      { device: '/dev/ttyAMA0', about: '' },
    ])
    expect(gpioChips.map(({ device }) => device)).toEqual(['gpiochip0', 'gpiochip2', 'gpiochip10'])
    expect(hids.map(({ device }) => device)).toEqual(['/dev/hidraw1', '/dev/hidraw0'])
    expect(hids[1]!.about).toMatch(/Keyboard \(no chip of that family/)
  })

  it('nothing at all is no fault', async () => {
    const { serialLines, hids } = await findDevices({ PATH: '' }, join(folder, 'nowhere'))
    expect([serialLines, hids]).toEqual([[], []])
  })
})

describe('a place as somebody types it', () => {
  it.each([
    ['45.2310 -36.7420', 45.231, -36.742],
    ['45.231,-36.742', 45.231, -36.742],
    ['45.231N 36.742W', 45.231, -36.742],
    ['45.231 S, 36.742 E', -45.231, 36.742],
    ['45,231 -36,742', 45.231, -36.742],
    ['45 -36', 45, -36],
    ['JN58td', 48.1458, 11.625],
  ])('%s', (text, latitudeDeg, longitudeDeg) => {
    expect(placeOf(text)).toEqual({ latitudeDeg, longitudeDeg })
  })

  it.each(['', '45', '91 0', '0 181', 'JN', 'here there', '45N 36N', '-45N 36W', '1 2 3'])(
    'not %s',
    (text) => expect(placeOf(text)).toBeUndefined(),
  )
})
