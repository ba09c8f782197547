import { readdirSync, readFileSync, realpathSync } from 'node:fs'
import { join } from 'node:path'
import { listAlsaDevices } from '../../audio/alsaDevices.js'
import { spawnTied } from '../../audio/audioChild.js'
import { childEnd, findProgram } from '../../devices/child.js'
import { errorText } from '../../runtime/errorText.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import type { Found, FoundDevice } from './session.js'

/** Vendor number of the makers of the CM108 family (from memory). */
const audioChipVendor = '0D8C'
/** A type of the kernel's serial driver: it drives a port that is not there (PORT_UNKNOWN of linux/serial_core.h, from memory). */
const noSerialPort = '0'

/**
 * What this machine has; nothing is opened.
 * @param root of the file system; another one in tests
 */
export async function findDevices(env: NodeJS.ProcessEnv, root = '/'): Promise<Found> {
  const problems: string[] = []
  const cards = async (direction: 'input' | 'output') => {
    try {
      return await listAlsaDevices(direction, spawnTied(env))
    } catch (error) {
      problems.push(errorText(error))
      return []
    }
  }
  const inputs = await cards('input')
  return {
    inputs,
    outputs: problems.length > 0 ? [] : await cards('output'),
    serialLines: serialLines(root),
    gpioChips: await gpioChips(root, env),
    hids: hids(root),
    problems,
  }
}

/** By the names that stay when things are plugged in another order, where there are any. */
function serialLines(root: string): FoundDevice[] {
  const stable = namesIn(join(root, 'dev/serial/by-id')).map((name) => ({
    device: `/dev/serial/by-id/${name}`,
    about: shortName(realOf(join(root, 'dev/serial/by-id', name))),
  }))
  const known = new Set(stable.map(({ about }) => about))
  const others = namesIn(join(root, 'sys/class/tty'))
    .filter((name) => namesIn(join(root, 'sys/class/tty', name)).includes('device'))
    .filter((name) => textOf(join(root, 'sys/class/tty', name, 'type')) !== noSerialPort)
    .filter((name) => !known.has(name))
    .map((name) => ({ device: `/dev/${name}`, about: '' }))
  return [...stable, ...others]
}

async function gpioChips(root: string, env: NodeJS.ProcessEnv): Promise<FoundDevice[]> {
  const names = namesIn(join(root, 'dev')).filter((name) => /^gpiochip\d+$/.test(name))
  if (names.length === 0 || findProgram('gpiodetect', env) === undefined)
    return names.map((device) => ({ device, about: '' }))
  const labels = await gpioLabels(env)
  return names.map((device) => ({ device, about: labels.get(device) ?? '' }))
}

/** Of lines such as `gpiochip0 [pinctrl] (58 lines)`. */
async function gpioLabels(env: NodeJS.ProcessEnv): Promise<Map<string, string>> {
  const child = spawnTied(env)('gpiodetect', [])
  let text = ''
  child.stdout.setEncoding('utf8').on('data', (part: string) => {
    text += part
  })
  child.stderr.resume()
  await childEnd(child)
  return new Map(
    [...text.matchAll(/^(gpiochip\d+) (.*)$/gm)].map(([, name, label]) => [
      name!,
      harmlessText(label!),
    ]),
  )
}

/** Chips of the family first: keyboards and mice are such devices, too. */
function hids(root: string): FoundDevice[] {
  const found = namesIn(join(root, 'sys/class/hidraw')).map((name) => {
    const event = textOf(join(root, 'sys/class/hidraw', name, 'device/uevent')) ?? ''
    const title = harmlessText(/^HID_NAME=(.*)$/m.exec(event)?.[1] ?? '')
    const isChip = new RegExp(`^HID_ID=[0-9A-F]+:0000${audioChipVendor}:`, 'mi').test(event)
    const about = isChip ? title : `${title} (no chip of that family, as far as known)`.trimStart()
    return { device: `/dev/${name}`, about, isChip }
  })
  return [...found.filter(({ isChip }) => isChip), ...found.filter(({ isChip }) => !isChip)].map(
    ({ device, about }) => ({ device, about }),
  )
}

function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder).sort((a, b) => a.localeCompare(b, 'en', { numeric: true }))
  } catch {
    // a machine without such devices has no such folder
    return []
  }
}

function textOf(file: string): string | undefined {
  try {
    return readFileSync(file, 'utf8').trim()
  } catch {
    return undefined
  }
}

function realOf(path: string): string {
  try {
    return realpathSync(path)
  } catch {
    return path
  }
}

const shortName = (path: string): string => path.slice(path.lastIndexOf('/') + 1)
