import { EventEmitter } from 'node:events'
import type { ServerResponse } from 'node:http'
import { describe, expect, it } from 'vitest'
import { readWavHeader } from '../../src/audio/wavHeader.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import type { RadioReport } from '../../src/radio/radioWatch.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { streamAudio } from '../../src/web/audioStream.js'

/** A listener, and the radio that he listens to. */
function listening() {
  const clock = virtualClock()
  const written: Buffer[] = []
  const response = Object.assign(new EventEmitter(), {
    writableLength: 0,
    write: (octets: Buffer) => void written.push(octets),
    destroy: () => response.emit('close'),
  })
  let tell: ((report: RadioReport) => void) | undefined
  const watch: RadioPort['watch'] = (_, listener) => {
    tell = listener
    return () => {
      tell = undefined
    }
  }
  streamAudio({ watch } as RadioPort, response as unknown as ServerResponse, clock)
  return {
    ...{ clock, response, written },
    hears: (samples: Int16Array) => tell?.({ kind: 'audio', samples }),
    isListening: () => tell !== undefined,
  }
}

describe('what is heard in the browser', () => {
  it('is a WAV file of 12 kHz, and the very samples, also those of a part of a buffer', () => {
    const { hears, written } = listening()
    hears(Int16Array.of(9, 1, -2, 32_767, -32_768, 9).subarray(1, 5))
    const octets = Buffer.concat(written)
    const read = (at: number, length: number) => octets.subarray(at, at + length)
    expect(readWavHeader({ size: Number.POSITIVE_INFINITY, read }, 'stream')).toMatchObject({
      ...{ sampleRateHz: 12_000, channelCount: 1, sampleFormat: 's16le', dataAt: 44 },
      ...{ dataOctets: Number.POSITIVE_INFINITY, warnings: [] },
    })
    expect([44, 46, 48, 50].map((at) => octets.readInt16LE(at))).toEqual([1, -2, 32_767, -32_768])
    expect(octets).toHaveLength(52)
  })

  it('leaves out what a slow listener cannot take, and drops one that takes nothing', () => {
    const { clock, response, hears, written, isListening } = listening()
    response.writableLength = 50_000
    hears(Int16Array.of(1))
    clock.advanceBy(59_000)
    hears(Int16Array.of(2))
    response.writableLength = 0
    hears(Int16Array.of(3))
    expect(written.slice(1).map((octets) => octets.readInt16LE(0))).toEqual([3])
    // He begins anew: only a whole minute without anything ends it.
    response.writableLength = 50_000
    hears(Int16Array.of(4))
    clock.advanceBy(59_000)
    hears(Int16Array.of(5))
    expect(isListening()).toBe(true)
    clock.advanceBy(2000)
    hears(Int16Array.of(6))
    expect(isListening()).toBe(false)
  })
})
