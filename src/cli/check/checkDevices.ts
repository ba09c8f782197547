import { constants } from 'node:fs'
import { access, stat } from 'node:fs/promises'
import { dirname, join, resolve } from 'node:path'
import type { AudioSink, AudioSource } from '../../audio/audioDevice.js'
import { parseAudioSpec } from '../../audio/audioSpec.js'
import { openAudioSink, openAudioSource } from '../../audio/openAudio.js'
import type { Config, RadioSection } from '../../config/schema.js'
import { findProgram } from '../../devices/child.js'
import type { Edges } from '../../devices/edges.js'
import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { audioSpecAt } from '../../setup/openRadio.js'
import { type Finding, mend } from '../shared/finding.js'

/** What was found to work, in words, and what was not. */
export interface Probe {
  readonly good: readonly string[]
  readonly findings: readonly Finding[]
}

/** How long a device may take to give its first audio, ms. */
const firstAudioMs = 4000

/**
 * Looks at the devices of one radio. Audio devices are really opened (the output stays silent); key lines are never
 * touched, because opening some of them moves the line: only that they are there and may be opened is looked at.
 */
export async function probeRadio(
  radio: RadioSection,
  folder: string,
  edges: Edges,
): Promise<Probe> {
  const { modem, transmit } = radio
  const parts: Probe[] = []
  if (modem.kind === 'serial') parts.push(await probeDevice('modem.device', modem.device))
  if (modem.kind === 'none') {
    parts.push(await probeInput(radio, folder, edges))
    if (transmit.enabled) {
      parts.push(await probeOutput(radio, folder, edges), await probeKeyLine(radio, edges.env))
    }
  }
  const { holdInput } = transmit
  if (holdInput.kind === 'serial' || holdInput.kind === 'gpio')
    parts.push(await probeDevice('transmit.holdInput.device', holdInput.device))
  return joined(parts)
}

/** Devices that belong to no radio. */
export async function probeStation({ kiss, node }: Config, edges: Edges): Promise<Probe> {
  const devices: (readonly [string, string])[] = kiss.serial.map(
    ({ device }) => ['kiss.serial', device] as const,
  )
  if (node.gps.device !== '') devices.push(['node.gps.device', node.gps.device])
  const parts = await Promise.all(devices.map(([key, device]) => probeDevice(key, device)))
  const needsRelay = kiss.pseudoTerminals.length > 0
  if (needsRelay && findProgram('socat', edges.env) === undefined)
    parts.push(
      bad(
        mend('kiss.pseudoTerminals', 'the program socat makes them and is not there: install it'),
      ),
    )
  for (const path of kiss.pseudoTerminals)
    parts.push(await probeWritable('kiss.pseudoTerminals', path))
  return joined(parts)
}

export const joined = (parts: readonly Probe[]): Probe => ({
  good: parts.flatMap((part) => part.good),
  findings: parts.flatMap((part) => part.findings),
})

const good = (text: string): Probe => ({ good: [text], findings: [] })
const bad = (finding: Finding): Probe => ({ good: [], findings: [finding] })

async function probeInput(radio: RadioSection, folder: string, edges: Edges): Promise<Probe> {
  const { audio } = radio
  const spec = parseAudioSpec(audio.input)
  if (spec.kind === 'pcm') return good('audio input: standard input, when it runs')
  // Reading from a FIFO would take audio away from whoever reads it.
  if (spec.kind === 'fifo') return probePath('audio.input', resolve(folder, spec.path), 'isFIFO')
  try {
    const source = openAudioSource(audioSpecAt(audio.input, folder), audioOptions(radio, edges))
    const trouble = await firstAudio(source, edges.clock)
    await source.close()
    return trouble === undefined
      ? good(`audio input: ${audio.input} gives audio`)
      : bad(mend('audio.input', busyAdvice(trouble)))
  } catch (error) {
    return bad(mend('audio.input', errorText(error)))
  }
}

/** @returns in words why none came */
function firstAudio(source: AudioSource, clock: Clock): Promise<string | undefined> {
  return new Promise((settle) => {
    let fault: string | undefined
    const cancel = clock.at(clock.monotonicMs() + firstAudioMs, () =>
      settle(fault ?? `${source.name}: no audio within ${firstAudioMs / 1000} s`),
    )
    const done = (trouble: string | undefined): void => {
      cancel()
      settle(trouble)
    }
    source.open({
      onBlock: () => done(undefined),
      onEnd: () => done(fault),
      onFault: (failure) => {
        fault = failure.message
        done(fault)
      },
    })
  })
}

async function probeOutput(radio: RadioSection, folder: string, edges: Edges): Promise<Probe> {
  const { output } = radio.audio
  if (output === undefined) return { good: [], findings: [] }
  const spec = parseAudioSpec(output)
  // Opening would write the file anew.
  if (spec.kind === 'wav') return probeWritable('audio.output', resolve(folder, spec.path))
  if (spec.kind === 'pcm') return good('audio output: standard output, when it runs')
  let sink: AudioSink | undefined
  try {
    sink = openAudioSink(audioSpecAt(output, folder), audioOptions(radio, edges))
    await sink.prepare()
    return good(`audio output: ${output} can be opened`)
  } catch (error) {
    return bad(mend('audio.output', busyAdvice(errorText(error))))
  } finally {
    await sink?.close()
  }
}

const busyAdvice = (trouble: string): string =>
  /busy/i.test(trouble)
    ? `${trouble} (if the node is running, that is why: stop it, or check with --no-devices)`
    : trouble

const audioOptions = ({ audio }: RadioSection, edges: Edges) => ({
  sampleRateHz: audio.rateHz,
  sampleFormat: audio.sampleFormat,
  channelCount: audio.channelCount,
  channel: audio.channel,
  clock: edges.clock,
  env: edges.env,
})

async function probeKeyLine({ ptt }: RadioSection, env: NodeJS.ProcessEnv): Promise<Probe> {
  switch (ptt.kind) {
    case 'none':
    case 'log':
      return { good: [], findings: [] }
    case 'command': {
      const programs = [ptt.keyCommand[0]!, ptt.unkeyCommand[0]!]
      const missing = []
      for (const program of programs)
        if (findProgram(program, env) === undefined) missing.push(program)
      return missing.length === 0
        ? good(`key line: ${[...new Set(programs)].join(' and ')} can be run`)
        : bad(mend('ptt.keyCommand, ptt.unkeyCommand', `cannot be run: ${missing.join(', ')}`))
    }
    default:
      return probeDevice('ptt.device', devicePath(ptt.device))
  }
}

const devicePath = (device: string): string =>
  device.includes('/') ? device : join('/dev', device)

async function probeDevice(key: string, device: string): Promise<Probe> {
  const path = devicePath(device)
  const why = await trouble(path, constants.R_OK | constants.W_OK)
  if (why === undefined) return good(`${key}: ${path} is there`)
  const advice =
    why === 'EACCES'
      ? 'it is there, but this user may not open it: join the group that owns it (dialout, audio, gpio or plugdev), and log in anew'
      : `${why === 'ENOENT' ? 'it is not there' : why}: is it plugged in, and is that its name? systemd/85-ridgepost.rules makes stable names`
  return bad(mend(key, `${path}: ${advice}`))
}

async function probePath(key: string, path: string, test: 'isFIFO'): Promise<Probe> {
  try {
    const entry = await stat(path)
    return entry[test]()
      ? good(`${key}: ${path} is there`)
      : bad(mend(key, `${path} is not a FIFO`))
  } catch (error) {
    return bad(mend(key, errorText(error)))
  }
}

/** A file that is to be written: it, or the nearest folder that is there, must allow it. Nothing is made. */
export async function probeWritable(key: string, path: string): Promise<Probe> {
  let place = path
  let why = await trouble(place, constants.W_OK)
  if (why === undefined) return good(`${key}: ${path} can be written`)
  while (why === 'ENOENT' && dirname(place) !== place) {
    place = dirname(place)
    why = await trouble(place, constants.W_OK | constants.X_OK)
  }
  if (why === undefined) return good(`${key}: ${path} will be made`)
  return bad(mend(key, `${path} cannot be written (${place}: ${why}): give this user the right to`))
}

async function trouble(path: string, mode: number): Promise<string | undefined> {
  try {
    await access(path, mode)
    return undefined
  } catch (error) {
    return (error as NodeJS.ErrnoException).code ?? errorText(error)
  }
}
