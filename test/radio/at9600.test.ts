// A radio at 9600 bit/s, whole: audio in a recording, receiver, transmit controller, key line, audio out.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { whiteNoise } from '../../dsp/channel/noise.js'
import { loadModem } from '../../dsp/modem/modems.js'
import { decodeFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { createFileRadio } from '../../src/radio/fileRadio.js'
import type { HeardFrame, TransmitOutcome } from '../../src/radio/port.js'
import { contentDurationMs, transmissionAudio } from '../../src/radio/transmissionAudio.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { parseEdgeLog } from '../ptt/loggedEdges.js'
import { frame, ownCall, readWav, request, transmitDefaults, writeWav } from './fixtures.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-at9600-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const rateHz = 48_000

async function radioOver(samples: Float32Array, inputRateHz = rateHz) {
  writeWav(join(folder, 'in.wav'), samples, inputRateHz)
  const clock = virtualClock()
  const radio = createFileRadio({
    ...{ radio: 0, name: 'radio', clock, random: seededRandom(1), modem: await loadModem(9600) },
    transmit: { ...transmitDefaults, bitRate: 9600 },
    ...{ levelDbfs: -6, toneBalanceDb: 0, receiver: { repair: 'careful' } },
    ...{ inputFile: join(folder, 'in.wav'), channel: 0, outputFile: join(folder, 'out.wav') },
    outputLayout: { sampleRateHz: rateHz, sampleFormat: 's16le', channelCount: 1 },
    logFile: join(folder, 'edges.log'),
  })
  return { clock, radio }
}

it('answers at its own rate, waits for the end of what it hears, and reckons with that rate', async () => {
  const { modulate, createReceiver } = await loadModem(9600)
  const random = seededRandom(5)
  const audio = whiteNoise(2 * rateHz, 0.01, random)
  // Another station goes on for half a second after the question.
  const shape = { sampleRateHz: rateHz, peakLevel: 0.3, tailMs: 10, bitRate: 9600 } as const
  const question = modulate({ ...shape, frames: [frame('QQ2AB-7', 'question')], preambleMs: 100 })
  const others = modulate({ ...shape, frames: [frame('QQ3AB-7', 'other')], preambleMs: 500 })
  const [questionAt, othersAt] = [0.5 * rateHz, 0.5 * rateHz + question.length + 480]
  question.forEach((sample, at) => {
    audio[questionAt + at]! += sample
  })
  others.forEach((sample, at) => {
    audio[othersAt + at]! += sample
  })
  const { radio } = await radioOver(audio)
  const heard: HeardFrame[] = []
  const outcomes: TransmitOutcome[] = []
  radio.port.onOutcome((outcome) => outcomes.push(outcome))
  radio.port.onFrame((one) => {
    heard.push(one)
    if (heard.length === 1) radio.port.send(request('a', frame(ownCall, 'answer')))
  })
  await radio.run({ silenceMsMax: 60_000 })
  expect(heard).toHaveLength(2)
  expect(heard[0]!.quality!.bitRate).toBe(9600)

  const [keyed, unkeyed] = parseEdgeLog(readFileSync(join(folder, 'edges.log'), 'utf8'))
  expect(keyed!.monotonicMs).toBeGreaterThan((1000 * (othersAt + others.length)) / rateHz)
  const { samples, sampleRateHz } = readWav(join(folder, 'out.wav'))
  const receiver = createReceiver({ sampleRateHz, repair: 'none' })
  const answers = [...receiver.push(samples), ...receiver.finish()]
  expect(answers.map(({ octets }) => lineOf(octets))).toEqual([`${ownCall}>APZ000:answer`])

  const { access } = transmitDefaults
  const flagsMs = access.keyDelayMs + access.tailMs
  const [sent] = outcomes.filter((one) => one.kind === 'sent')
  // The frame itself is 26 octets with FCS and flags: 22 ms, where 1200 bit/s take 173 ms.
  expect(sent!.airtimeMs).toBeGreaterThan(flagsMs + 20)
  expect(sent!.airtimeMs).toBeLessThan(flagsMs + 32)
  expect(unkeyed!.monotonicMs - keyed!.monotonicMs).toBeCloseTo(sent!.airtimeMs, 1)
})

it('a recording with too few samples a second is refused in words', async () => {
  await expect(radioOver(new Float32Array(8000), 16_000)).rejects.toThrow(
    'in.wav: got 16000 samples a second, expected 19200 or more',
  )
})

it('a test signal of alternating symbols is that of its bit rate: 4800 Hz', async () => {
  const content = { kind: 'tone', tone: 'alternating', durationMs: 100 } as const
  const shape = { sampleRateHz: rateHz, peakLevel: 0.5, toneBalanceDb: 0 }
  const samples = transmissionAudio(content, shape, await loadModem(9600))
  expect((samples.length * 1000) / rateHz).toBeCloseTo(contentDurationMs(content), 6)
  // A period of 10 samples, behind the first bits.
  for (let at = 100; at < 4000; at++) expect(samples[at]).toBeCloseTo(samples[at + 10]!, 3)
  expect(Math.max(...samples)).toBeGreaterThan(0.25)
})

function lineOf(octets: Uint8Array): string {
  const decoded = decodeFrame(octets)
  return decoded.ok ? formatLine(decoded.frame) : decoded.reason
}
