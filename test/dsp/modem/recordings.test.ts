// Off-air recordings of satellites; where the truth comes from stands in each recording's JSON file.
import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { openWav } from '../../../src/audio/wavReader.js'
import { hex, receiveAll } from './receiving.js'

interface TrueFrame {
  channel?: number
  hex: string
  opening_flag_sample: number
  closing_flag_sample: number
}

function recording(name: string, channel: number) {
  const file = fileURLToPath(new URL(`../../../samples/recordings/${name}`, import.meta.url))
  const wav = openWav(`${file}.wav`)
  const channels = wav.read(wav.frameCount)!
  wav.close()
  const { frames } = JSON.parse(readFileSync(`${file}.json`, 'utf8')) as { frames: TrueFrame[] }
  const { sampleRateHz } = wav
  return {
    truth: frames.filter((frame) => (frame.channel ?? 0) === channel),
    found: receiveAll(channels[channel]!, { sampleRateHz, repair: 'careful' }).frames,
    symbolSamples: sampleRateHz / 1200,
  }
}

describe.each([
  ['swiatowid-ax25', 0],
  ['swiatowid-ax25_3flags', 0],
  ['stereo_44k1', 0],
] as const)('%s, channel %i', (name, channel) => {
  it('gives every frame of the truth file, where it lies, and no other', () => {
    const { truth, found, symbolSamples } = recording(name, channel)
    expect(truth.length).toBeGreaterThan(0)
    expect(found.map((frame) => hex(frame.octets))).toEqual(truth.map((frame) => frame.hex))
    found.forEach((frame, index) => {
      const { opening_flag_sample: first, closing_flag_sample: last } = truth[index]!
      expect(Math.abs(frame.firstSample - first)).toBeLessThan(symbolSamples / 2)
      expect(Math.abs(frame.lastSample - last)).toBeLessThan(symbolSamples / 2)
    })
  })
})

it('fr05, whose bits are damaged at the source, gives no frame', () => {
  expect(recording('fr05', 0).found).toEqual([])
})
