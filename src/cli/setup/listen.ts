import { loadModem } from '../../../dsp/modem/modems.js'
import { openAudioSource } from '../../audio/openAudio.js'
import { formatAddress } from '../../ax25/address.js'
import { decodeFrame } from '../../ax25/frame.js'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { lockRadios } from '../../setup/keyLocks.js'
import { audioSpecAt, type openRadio } from '../../setup/openRadio.js'
import { frameText, meterLine } from '../levels/levelsView.js'
import { createLevelsWatch } from '../levels/levelsWatch.js'
import type { EffectResult } from './session.js'

/** A line now and then, so that somebody sees that it listens. */
const tellEveryS = 10

/** Until a packet is heard, the time is over, or somebody stops it. Nothing is sent. */
export function listen(
  config: Config,
  folder: string,
  durationMs: number,
  stop: AbortSignal,
  edges: Edges,
  say: (line: string) => void,
  open: typeof openRadio,
): Promise<EffectResult> {
  const isCard = config.radios[0]!.modem.kind === 'none'
  return isCard
    ? listenToCard(config, folder, durationMs, stop, edges, say)
    : listenToModem(config, folder, durationMs, stop, edges, open)
}

async function listenToCard(
  config: Config,
  folder: string,
  durationMs: number,
  stop: AbortSignal,
  { clock, env }: Edges,
  say: (line: string) => void,
): Promise<EffectResult> {
  const { input, rateHz: sampleRateHz, ...layout } = config.radios[0]!.audio
  const source = openAudioSource(audioSpecAt(input, folder), {
    ...layout,
    sampleRateHz,
    clock,
    env,
  })
  const watch = createLevelsWatch({
    ...{ title: input, sampleRateHz: source.sampleRateHz },
    modem: await loadModem(config.radios[0]!.signal.bitRate),
  })
  const heard: string[] = []
  const faults: string[] = []
  let cancel = (): void => {}
  await new Promise<void>((resolve) => {
    stop.addEventListener('abort', () => resolve())
    cancel = clock.at(clock.monotonicMs() + durationMs, resolve)
    source.open({
      onBlock(block) {
        heard.push(...watch.push(block).map(frameText))
        if (watch.sinceReadingS >= tellEveryS) say(meterLine(watch.read()).trimStart())
        // Audio out of a file may bring more than that in a moment.
        if (heard.length > 0 || watch.atS * 1000 >= durationMs) resolve()
      },
      onEnd: resolve,
      onFault: (failure) => void faults.push(failure.message),
    })
  })
  cancel()
  await source.close()
  heard.push(...watch.finish().map(frameText))
  const { advice } = watch.readTotal()
  return {
    ok: heard.length > 0,
    lines: [
      ...faults.slice(0, 3),
      ...heard.slice(0, 1).map((text) => `Heard ${text}`),
      ...advice.map((text) => `* ${text}`),
    ].map(harmlessText),
  }
}

async function listenToModem(
  config: Config,
  folder: string,
  durationMs: number,
  stop: AbortSignal,
  edges: Edges,
  open: typeof openRadio,
): Promise<EffectResult> {
  const { clock, random } = edges
  const unlock = await lockRadios(config, [0], folder, clock)
  const lines: string[] = []
  try {
    const onFault = (text: string): void => void lines.push(text)
    const { port, start } = open(config, 0, folder, { clock, random, onFault })
    let heard: string | undefined
    let cancel = (): void => {}
    await new Promise<void>((resolve) => {
      stop.addEventListener('abort', () => resolve())
      cancel = clock.at(clock.monotonicMs() + durationMs, resolve)
      port.onEvent((event) => {
        if (event.kind === 'fault') lines.push(event.reason)
      })
      port.onFrame(({ octets }) => {
        const decoded = decodeFrame(octets)
        if (!decoded.ok) return
        heard = formatAddress(decoded.frame.source)
        resolve()
      })
      start()
    })
    cancel()
    await port.close()
    return {
      ok: heard !== undefined,
      lines: [
        ...[...new Set(lines)].slice(0, 3),
        heard === undefined ? 'No packet came.' : `Heard ${heard}.`,
      ].map(harmlessText),
    }
  } finally {
    await unlock()
  }
}
