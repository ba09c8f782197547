import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { openWav } from '../../src/audio/wavReader.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { parseAddress } from '../../src/ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { parseConfig } from '../../src/config/load.js'
import type { Airtime, Priority, TransmitRequest } from '../../src/radio/port.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { transmitOptions } from '../../src/setup/transmitOptions.js'

/** An invented call: no country has the letter Q in front. */
export const ownCall = 'QQ1RP-10'

const config = parseConfig(
  `[station]
   call = "${ownCall}"
   [transmit]
   enabled = true
   persistence = 255
   reservePercent = 0
   [ptt]
   kind = "log"
   logFile = "edges.log"`,
  'defaults',
)

/** As configured where nothing is, but that it sends at its first chance, and keeps nothing aside. */
export const transmitDefaults: TransmitOptions = transmitOptions(config, config.radios[0]!)

export function frame(from: string, text: string, to = 'APZ000'): Uint8Array {
  const source = parseAddress(from)
  const destination = parseAddress(to)
  if (!source.ok || !destination.ok) throw new Error(`wrong address in ${from}>${to}`)
  const addresses = { source: source.value, destination: destination.value }
  const begin = encodeFrame(uiFrame({ ...addresses, payload: new Uint8Array() }))
  // Longer, too, than a frame of ours may be: clients send what they like.
  return Uint8Array.of(...begin, ...new TextEncoder().encode(text))
}

export function request(
  id: string,
  octets: Uint8Array,
  priority: Priority = 'answer',
  notAfterMs = Number.POSITIVE_INFINITY,
): TransmitRequest {
  return { id, octets, priority, notAfterMs, origin: 'node' }
}

/** Of a port without a duty limit: a frame takes what it takes at 1200 baud, stuffing aside. */
export const unlimitedAirtime = (nowMs: number): Airtime => ({
  allowanceMs: Number.POSITIVE_INFINITY,
  keyedMs: (frames) => frames.reduce((sum, { length }) => sum + ((length + 3) * 8) / 1.2, 350),
  freeMs: () => Number.POSITIVE_INFINITY,
  earliestMs: () => nowMs,
  forecast: () => (atMs) => atMs - nowMs,
})

/** Frames at their places in otherwise silent audio. */
export function audioWith(
  totalMs: number,
  sampleRateHz: number,
  placed: readonly { readonly atMs: number; readonly octets: Uint8Array }[],
): Float32Array {
  const samples = new Float32Array(Math.round((totalMs * sampleRateHz) / 1000))
  for (const { atMs, octets } of placed) {
    const audio = modulateTransmission({
      ...{ frames: [octets], preambleMs: 300, tailMs: 50 },
      ...{ sampleRateHz, peakLevel: 0.5 },
    })
    samples.set(audio, Math.round((atMs * sampleRateHz) / 1000))
  }
  return samples
}

export function writeWav(file: string, samples: Float32Array, sampleRateHz: number): void {
  const wav = createWav(file, { sampleRateHz, sampleFormat: 's16le', channelCount: 1 })
  wav.write(samples)
  wav.close()
}

export function readWav(file: string): { samples: Float32Array; sampleRateHz: number } {
  const reader = openWav(file)
  const blocks: Float32Array[] = []
  for (let block = reader.read(65_536); block !== undefined; block = reader.read(65_536))
    blocks.push(block[0]!)
  reader.close()
  const samples = new Float32Array(blocks.reduce((sum, block) => sum + block.length, 0))
  let at = 0
  for (const block of blocks) {
    samples.set(block, at)
    at += block.length
  }
  return { samples, sampleRateHz: reader.sampleRateHz }
}

/** Every frame in some audio, as FROM>TO:payload lines. */
export function decode(samples: Float32Array, sampleRateHz: number): string[] {
  const receiver = createReceiver({ sampleRateHz, repair: 'none' })
  const frames = [...receiver.push(samples), ...receiver.finish()]
  return frames.map(({ octets }) => {
    const decoded = decodeFrame(octets)
    return decoded.ok ? formatLine(decoded.frame) : decoded.reason
  })
}

/** Stretches of audio that are not silent, in ms; a pause below gapMs does not part them. */
export function loudSpans(
  samples: Float32Array,
  sampleRateHz: number,
  gapMs = 20,
): { fromMs: number; toMs: number }[] {
  const spans: { fromMs: number; toMs: number }[] = []
  for (const [index, sample] of samples.entries()) {
    if (Math.abs(sample) < 1e-3) continue
    const atMs = (index * 1000) / sampleRateHz
    const last = spans.at(-1)
    if (last !== undefined && atMs - last.toMs < gapMs) last.toMs = atMs
    else spans.push({ fromMs: atMs, toMs: atMs })
  }
  return spans
}
