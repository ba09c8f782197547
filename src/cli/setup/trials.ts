import { parseAddress } from '../../ax25/address.js'
import { encodeFrame, uiFrame } from '../../ax25/frame.js'
import { parseConfig } from '../../config/load.js'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import type { ReleaseLock } from '../../devices/nameLock.js'
import type { RadioPort } from '../../radio/radioPort.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { lockRadios } from '../../setup/keyLocks.js'
import type { openRadio } from '../../setup/openRadio.js'
import { finalOutcome } from '../tone/finalOutcome.js'
import type { Effect, EffectResult } from './session.js'

/** Transmissions with somebody there, through the same locks, queue and limits as everything that is sent. */
export interface Trials {
  /** Keys once; the radio stays open for another one with the same configuration. */
  key(effect: Extract<Effect, { kind: 'key' }>): Promise<EffectResult>
  /** Closes the radio: it identifies what was sent, and unkeys. @returns what somebody must know */
  end(): Promise<readonly string[]>
  stop(): void
}

/** How long a busy channel or a duty limit may keep it waiting. */
const waitMs = 60_000

interface OpenTrial {
  readonly configText: string
  readonly config: Config
  readonly port: RadioPort
  readonly unlock: ReleaseLock
  /** something without our call went out, and our call has not followed yet */
  owed: boolean
}

export function createTrials(
  folder: string,
  edges: Edges,
  say: (line: string) => void,
  open: typeof openRadio,
): Trials {
  const { clock, random } = edges
  let current: OpenTrial | undefined
  let isStopped = false
  let count = 0

  async function opened(configText: string): Promise<OpenTrial> {
    if (current?.configText === configText) return current
    await end()
    const config = parseConfig(configText, 'setup')
    const unlock = await lockRadios(config, [0], folder, clock)
    try {
      const onFault = (text: string): void => say(harmlessText(text))
      const { port, start } = open(config, 0, folder, { clock, random, onFault })
      const trial: OpenTrial = { configText, config, port, unlock, owed: false }
      port.onEvent((event) => {
        if (event.kind === 'identified') {
          trial.owed = false
          say(`identified as ${config.station.call}`)
        } else if (event.kind === 'keyed' || event.kind === 'unkeyed') say(event.kind)
        else if (event.kind === 'fault') say(`fault: ${harmlessText(event.reason)}`)
      })
      start()
      current = trial
      // Ctrl-C may have come while the line was being locked.
      if (isStopped) port.hold('operator', stopWords)
      return trial
    } catch (error) {
      await unlock()
      throw error
    }
  }

  async function end(): Promise<readonly string[]> {
    const trial = current
    current = undefined
    if (trial === undefined) return []
    try {
      await trial.port.close()
    } finally {
      await trial.unlock()
    }
    return trial.owed
      ? [
          'NOT identified, because the channel stayed busy or it was stopped: identify by voice now.',
        ]
      : []
  }

  return {
    async key({ configText, send, durationMs, gapMs }) {
      const trial = await opened(configText)
      const { port, config } = trial
      const id = `setup ${++count}`
      const notAfterMs = clock.monotonicMs() + waitMs
      const owedBefore = trial.owed
      const outcome = finalOutcome(port, id, (reason) => say(`held: ${harmlessText(reason)}`))
      if (send === 'frame') {
        const octets = ownFrame(config)
        port.send({ id, octets, notAfterMs, priority: 'client', origin: 'operator' })
      } else {
        // The frame behind flags carries the call; a tone leaves it owed.
        trial.owed ||= send === 'mark'
        port.sendTone({ id, tone: send, durationMs, gapMs, notAfterMs })
      }
      const settled = await outcome
      if (settled.kind === 'sent')
        return { ok: true, lines: [settled.doubt ? `Sent, but ${settled.doubt}.` : 'Sent.'] }
      if (settled.kind === 'expired' || settled.airtimeMs === undefined) trial.owed = owedBefore
      return { ok: false, lines: [`Not sent: ${harmlessText(settled.reason)}`] }
    },
    end,
    stop() {
      isStopped = true
      current?.port.hold('operator', stopWords)
    },
  }
}

const stopWords = 'stopped at the keyboard'

/** Our call to everybody, and nothing else. */
function ownFrame({ station, radios }: Config): Uint8Array {
  const source = parseAddress(station.call)
  const destination = parseAddress(radios[0]!.transmit.identificationDestination)
  if (!source.ok || !destination.ok) throw new RangeError('the configuration holds valid addresses')
  const payload = new TextEncoder().encode(`>test of ${station.call}`)
  return encodeFrame(
    uiFrame({ source: source.value, destination: destination.value, path: [], payload }),
  )
}
