import { childEnd } from '../devices/child.js'
import type { Clock } from '../runtime/clock.js'
import { Failure } from '../runtime/failure.js'
import { alsaFailure, alsaFormats, createAlsaReport, rateFailure } from './alsaReport.js'
import type { SpawnChild } from './audioChild.js'
import type { AudioSource, PcmLayout } from './audioDevice.js'
import { gatheredReading } from './gatheredReading.js'
import { createLiveSource, type Feed, type FeedEvents } from './liveSource.js'

export interface AlsaSourceOptions extends PcmLayout {
  /** an ALSA device name: 'plughw:CARD=Device,DEV=0' */
  readonly device: string
  readonly channel: number
  readonly clock: Clock
  readonly spawn: SpawnChild
}

/** A card that gives nothing for this long hangs, as USB cards do now and then. */
const stallMs = 5000
/** What the card may hold before audio is lost; the pipe holds a second or more beyond that. */
const bufferUs = 500_000
/** How often the card hands over audio; adds to the time between a frame's end and its decoding. */
const periodUs = 20_000

/**
 * A sound card's input through arecord, as raw PCM on a pipe. When the card vanishes the program ends; it is started
 * anew with a growing back-off (liveSource.ts) until the card is back.
 */
export function createAlsaSource(options: AlsaSourceOptions): AudioSource {
  const name = `alsa:${options.device}`
  return createLiveSource({
    ...options,
    name,
    connect: (events) => record(name, options, events),
    stall: {
      afterMs: stallMs,
      failure: () =>
        new Failure({
          code: 'audio-stalled',
          subject: name,
          got: `no audio for ${stallMs / 1000} s`,
          expected: 'a steady flow',
          advice: 'it is opened anew; if that repeats, unplug the card and plug it in again',
        }),
    },
  })
}

function record(name: string, options: AlsaSourceOptions, events: FeedEvents): Feed {
  const child = options.spawn('arecord', [
    ...['-v', '-D', options.device, '-t', 'raw', '-f', alsaFormats[options.sampleFormat]],
    ...['-r', String(options.sampleRateHz), '-c', String(options.channelCount)],
    ...['-B', String(bufferUs), '-F', String(periodUs), '-'],
  ])
  const report = createAlsaReport(events.onOverrun, () => {
    const gotHz = report.sampleRateHz ?? options.sampleRateHz
    // A few hertz are the card's own inaccuracy; anything more would shift the tones.
    if (Math.abs(gotHz - options.sampleRateHz) > options.sampleRateHz * 1e-3)
      events.onLost(rateFailure(name, gotHz, options.sampleRateHz))
  })
  const ended = childEnd(child).then((end) => {
    events.onLost(alsaFailure(name, end, report, 'audio from the device'))
  })
  child.stderr.setEncoding('utf8').on('data', (text: string) => report.push(text))
  const reading = gatheredReading(child.stdout, options.clock, events.onOctets)
  return {
    gather: reading.gather,
    async close() {
      reading.close()
      child.kill('SIGKILL')
      // Nothing more is wanted; unread audio would keep the pipe open.
      child.stdout.destroy()
      await ended
    },
  }
}
