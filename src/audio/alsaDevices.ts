import { childEnd } from '../devices/child.js'
import { Failure } from '../runtime/failure.js'
import type { SpawnChild } from './audioChild.js'

/** A sound card's input or output, as it can be written in a configuration. */
export interface AlsaDevice {
  /** 'alsa:plughw:CARD=Device,DEV=0': by the card's name, which stays when cards are plugged in another order */
  readonly spec: string
  /** what the maker calls it */
  readonly description: string
}

/**
 * The machine's sound cards.
 * @throws Failure 'audio-device' when alsa-utils is not installed
 */
export async function listAlsaDevices(
  direction: 'input' | 'output',
  spawn: SpawnChild,
): Promise<AlsaDevice[]> {
  const program = direction === 'input' ? 'arecord' : 'aplay'
  const child = spawn(program, ['-l'])
  let text = ''
  child.stdout.setEncoding('utf8').on('data', (part: string) => {
    text += part
  })
  child.stderr.resume()
  const end = await childEnd(child)
  // Without any card it ends with status 1 and an empty list: that is no fault.
  if (end.startError !== undefined)
    throw new Failure({
      code: 'audio-device',
      subject: program,
      got: 'no such program',
      expected: 'arecord and aplay',
      advice: 'install alsa-utils',
      cause: end.startError,
    })
  return parseDeviceList(text)
}

/** Reads the output of `arecord -l` or `aplay -l` in English. */
export function parseDeviceList(text: string): AlsaDevice[] {
  const pattern = /^card \d+: (\S+) \[(.*?)\], device (\d+): (.*?) \[(.*)\]$/gm
  return [...text.matchAll(pattern)].map(([, id, card, device, , title]) => ({
    spec: `alsa:plughw:CARD=${id},DEV=${device}`,
    description: title === card || title === '' ? card! : `${card}, ${title}`,
  }))
}
