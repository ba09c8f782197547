import { describe, expect, it } from 'vitest'
import { parseAudioSpec } from '../../src/audio/audioSpec.js'
import { parseConfig } from '../../src/config/load.js'
import { Failure } from '../../src/runtime/failure.js'

const good: [string, object][] = [
  ['wav:in.wav', { kind: 'wav', path: 'in.wav' }],
  ['wav:/a/b:c.wav', { kind: 'wav', path: '/a/b:c.wav' }],
  ['pcm:-', { kind: 'pcm' }],
  ['alsa:plughw:CARD=Device,DEV=0', { kind: 'alsa', device: 'plughw:CARD=Device,DEV=0' }],
  ['unix:/run/radio.sock', { kind: 'unix', path: '/run/radio.sock' }],
  ['tcp:radio.lan:7355', { kind: 'tcp', host: 'radio.lan', port: 7355 }],
  ['tcp:[fe80::1%eth0]:7355', { kind: 'tcp', host: 'fe80::1%eth0', port: 7355 }],
  ['fifo:/tmp/audio', { kind: 'fifo', path: '/tmp/audio' }],
]
const bad = ['', 'wav:', 'in.wav', 'hw:1,0', '-', 'pcm:x', 'tcp:host', 'tcp:host:0', 'tcp:h:99999']

describe('audio specs', () => {
  it.each(good)('%s', (spec, parsed) => {
    expect(parseAudioSpec(spec)).toEqual(parsed)
    const text = `[audio]\ninput = ${JSON.stringify(spec)}`
    expect(parseConfig(text, 'node.toml').radios[0]!.audio.input).toBe(spec)
  })

  it.each([...bad, 'ALSA:x', 'file:x'])('%j is refused with the forms that are allowed', (spec) => {
    expect(() => parseAudioSpec(spec)).toThrow(Failure)
    expect(() => parseAudioSpec(spec)).toThrow(/expected wav:FILE, pcm:-/)
  })

  it('guesses what was meant', () => {
    expect(() => parseAudioSpec('in.wav')).toThrow(/did you mean "wav:in.wav"/)
    expect(() => parseAudioSpec('hw:1,0')).toThrow(/did you mean "alsa:hw:1,0"/)
    expect(() => parseAudioSpec('-')).toThrow(/did you mean "pcm:-"/)
  })
})

describe('config tables audio and receiver', () => {
  it('have defaults for a mono card that only receives', () => {
    const [radio] = parseConfig('', 'node.toml').radios
    expect(radio!.audio).toEqual({
      input: 'alsa:default',
      rateHz: 48_000,
      channelCount: 1,
      channel: 0,
      sampleFormat: 's16le',
    })
    expect(radio!.receiver).toEqual({ repair: 'careful', busyOnAnySignal: false, il2p: false })
  })

  it.each([
    ['[audio]\ninput = "hw:1"', /audio.input: got "hw:1", expected wav:FILE/],
    ['[audio]\nrateHz = 4000', /audio.rateHz: got 4000, expected at least 8000/],
    ['[audio]\nchannel = 1', /audio.channel: got 1, expected a channel below audio.channelCount/],
    ['[audio]\nsampleFormat = "s8"', /audio.sampleFormat: got "s8", expected one of "u8"/],
    ['[receiver]\nrepair = "hard"', /receiver.repair: got "hard", expected one of "none"/],
  ])('%j names file, key, got and expected', (text, message) => {
    expect(() => parseConfig(text, 'node.toml')).toThrow(message)
  })
})
