import { realpathSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { keyLineOf } from '../config/keyLine.js'
import type { Config, RadioSection } from '../config/schema.js'
import { type LockKind, lockNames, type ReleaseLock } from '../devices/nameLock.js'
import type { Clock } from '../runtime/clock.js'
import { audioSpecAt } from './openRadio.js'

/** The kernel locks some kinds of line itself, but not all, and none before the line has moved. */
const keyLine: LockKind = {
  name: 'key-line',
  expected: 'a key line of its own',
  advice:
    'nothing was keyed; a node or a tone runs on it: end that first (`stop` at its terminal, or `systemctl stop ridgepost`)',
}

/**
 * Locks everything by which a configuration's radios can be keyed, for as long as this process has them open.
 * @param numbers which radios
 * @throws Failure 'key-line-taken' when another process has one
 */
export async function lockRadios(
  config: Config,
  numbers: readonly number[],
  folder: string,
  clock: Clock,
): Promise<ReleaseLock> {
  // Two radios may share a log file: that is no reason to wait for oneself.
  const mine = new Set<string>()
  const releases: ReleaseLock[] = []
  const releaseAll: ReleaseLock = async () => {
    for (const release of releases.splice(0)) await release()
  }
  try {
    for (const number of numbers) {
      const radio = config.radios[number]!
      const names = namesOf(radio, folder).filter((name) => !mine.has(name))
      for (const name of names) mine.add(name)
      releases.push(await lockNames(keyLine, names, subjectOf(radio), clock))
    }
  } catch (error) {
    await releaseAll()
    throw error
  }
  return releaseAll
}

/**
 * What stands for a radio's transmitter: its key line, with the name in the configuration and with the device's own (a link
 * may point elsewhere tomorrow). One that keys itself is known by the audio that keys it, or by its modem.
 */
function namesOf(radio: RadioSection, folder: string): string[] {
  const { modem, ptt, audio, transmit } = radio
  if (modem.kind === 'serial') return both('modem', modem.device)
  if (modem.kind === 'tcp')
    return transmit.enabled
      ? [JSON.stringify(['modem', modem.host, modem.port, modem.modemPort])]
      : []
  if (ptt.kind === 'log') return [JSON.stringify(['log', resolve(folder, ptt.logFile)])]
  if (ptt.kind === 'none')
    return transmit.enabled && audio.output !== undefined
      ? [JSON.stringify(['audio', audioSpecAt(audio.output, folder)])]
      : []
  return [keyLineOf(ptt, inDev)!, keyLineOf(ptt, realDevice)!]
}

const both = (kind: string, device: string): string[] =>
  [inDev(device), realDevice(device)].map((name) => JSON.stringify([kind, name]))

const inDev = (device: string): string => (device.includes('/') ? device : join('/dev', device))

function realDevice(device: string): string {
  try {
    return realpathSync(inDev(device))
  } catch {
    // it may be plugged in later
    return inDev(device)
  }
}

function subjectOf({ name, modem, ptt, audio }: RadioSection): string {
  if (modem.kind === 'serial') return `${name}: modem ${modem.device}`
  if (modem.kind === 'tcp') return `${name}: modem ${modem.host}:${modem.port}`
  if (ptt.kind === 'none') return `${name}: audio output ${audio.output}`
  const what =
    ptt.kind === 'log'
      ? ptt.logFile
      : ptt.kind === 'command'
        ? ptt.keyCommand.join(' ')
        : ptt.device
  return `${name}: key line (${ptt.kind} ${what})`
}
