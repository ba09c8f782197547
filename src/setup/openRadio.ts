import { existsSync } from 'node:fs'
import { resolve } from 'node:path'
import { parseAudioSpec } from '../audio/audioSpec.js'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config, RadioSection } from '../config/schema.js'
import type { Edges } from '../devices/edges.js'
import type { OpenStream } from '../kiss/octetStream.js'
import { serialStream, tcpStream } from '../kiss/streams.js'
import { openAirtimeFile } from '../radio/airtimeFile.js'
import type { ControllerPast } from '../radio/controllerTypes.js'
import { createKissPort } from '../radio/kissPort.js'
import type { RadioPort } from '../radio/radioPort.js'
import { createSoundCardRadio } from '../radio/soundCardRadio.js'
import { formatUnknownPast, fullestPast } from '../radio/unknownPast.js'
import type { RadioSetup } from '../radio/workerMessages.js'
import { bootId } from './bootId.js'
import { transmitOptions } from './transmitOptions.js'

/** Levels other than the configuration's. */
export interface LevelChange {
  readonly levelDbfs?: number | undefined
  readonly toneBalanceDb?: number | undefined
}

/** What a radio needs of the outside. */
export interface RadioEdges extends Pick<Edges, 'clock' | 'random'> {
  /** something that somebody should mend, in words */
  readonly onFault: (text: string) => void
}

/** A radio that begins to work when it is started; listeners should be there by then. */
export interface ConfiguredRadio {
  readonly port: RadioPort
  start(): void
  /** of a radio with a thread of its own: when it told something last, monotonic */
  lifeSignAtMs?(): number
}

/**
 * One radio out of the configuration: at a sound card, in a thread of its own, or an external modem.
 * @param folder of the configuration file; file names in it are relative to that
 */
export function openRadio(
  config: Config,
  number: number,
  folder: string,
  edges: RadioEdges,
  levels: LevelChange = {},
): ConfiguredRadio {
  const radio = config.radios[number]!
  const { past, follow } = openAirtime(config, number, folder, edges)
  if (radio.modem.kind === 'none') {
    const setup = radioSetup(config, number, folder, levels)
    const port = createSoundCardRadio({ setup, clock: edges.clock, past })
    follow(port)
    return { port, start: () => port.start(), lifeSignAtMs: () => port.lifeSignAtMs() }
  }
  const { line, ...modem } = modemOptions(radio.modem)
  const port = createKissPort({
    radio: number,
    name: radio.name,
    ...{ ...modem, open: modemStream(line) },
    transmit: transmitOptions(config, radio),
    clock: edges.clock,
    random: edges.random,
    past,
  })
  follow(port)
  // A modem is connected to from the start.
  return { port, start: () => {} }
}

/** What a radio sent before, as far as its own file knows, which lies beside the database. */
function openAirtime(
  config: Config,
  number: number,
  folder: string,
  edges: RadioEdges,
): { readonly past: ControllerPast; follow(port: RadioPort): void } {
  const { clock, onFault } = edges
  const radio = config.radios[number]!
  const { dutyLimits, enabled, timeOutMs } = transmitOptions(config, radio)
  if (config.store.file === ':memory:') {
    const past = { spans: fullestPast(dutyLimits, clock.monotonicMs()) }
    if (enabled) onFault(formatUnknownPast('store.file = ":memory:" keeps nothing', dutyLimits))
    return { past, follow: () => {} }
  }
  const database = resolve(folder, config.store.file)
  const airtime = openAirtimeFile({
    file: `${database}.airtime-${number}.json`,
    clock,
    bootId: bootId(),
    dutyLimits,
    timeOutMs,
    ranBefore: existsSync(database),
    // Of a radio that may not send nobody wants to know it; the file is made all the same, for the day when it may.
    onFault: enabled ? onFault : () => {},
  })
  return { past: airtime.past(), follow: (port) => airtime.follow(port) }
}

/** How a modem is reached, and what is known of it. */
export function modemOptions(modem: RadioSection['modem']) {
  const { kind, device, lineBitRate: bitRate, host, port, ...known } = inBaseUnits(modem)
  const { modemPort, startup, silentAfterMs } = known
  const hardwareFlowControl = known.flowControl === 'hardware'
  const line = kind === 'serial' ? { device, bitRate, hardwareFlowControl } : { host, port: port! }
  return { line, modemPort, startup, silentAfterMs }
}

const modemStream = (line: ReturnType<typeof modemOptions>['line']): OpenStream =>
  line.host === undefined ? serialStream(line) : tcpStream(line.host, line.port)

/** What the thread of a sound-card radio must know. */
export function radioSetup(
  config: Config,
  number: number,
  folder: string,
  levels: LevelChange = {},
): RadioSetup {
  const radio = config.radios[number]!
  const { audio, ptt, receiver, transmit } = radio
  const at = (path: string): string => (path === '' ? '' : resolve(folder, path))
  const { rateHz: sampleRateHz, ...layout } = audio
  return {
    radio: number,
    name: radio.name,
    audio: {
      ...{ ...layout, sampleRateHz },
      input: audioSpecAt(audio.input, folder),
      // What may not send needs no output, and says nothing of one that is not there.
      output:
        audio.output === undefined || !transmit.enabled
          ? undefined
          : audioSpecAt(audio.output, folder),
    },
    ...{ receiver, transmit: transmitOptions(config, radio) },
    levelDbfs: levels.levelDbfs ?? transmit.levelDbfs,
    toneBalanceDb: levels.toneBalanceDb ?? transmit.toneBalanceDb,
    ptt: { ...ptt, logFile: at(ptt.logFile) },
    holdFile: at(transmit.holdFile),
    holdInput: transmit.holdInput,
  }
}

/** An audio spec whose file is absolute. */
export function audioSpecAt(text: string, folder: string): string {
  const spec = parseAudioSpec(text)
  return 'path' in spec ? `${spec.kind}:${resolve(folder, spec.path)}` : text
}
