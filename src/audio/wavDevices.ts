/* A recording as a source and a recorder as a sink, both in step with the clock: on a virtual clock they run as fast as it. */
import type { Cancel, Clock } from '../runtime/clock.js'
import { Failure } from '../runtime/failure.js'
import type { AudioSink, AudioSinkCounters, AudioSource, PcmLayout } from './audioDevice.js'
import { durationMs, refuseSecondPlay, type Wait, waitUntil } from './playOut.js'
import { openWav, type WavReader } from './wavReader.js'
import { createWav } from './wavWriter.js'

export interface WavSourceOptions {
  readonly file: string
  readonly channel: number
  readonly clock: Clock
}

/** How much of the recording comes at a time. */
const blockMs = 20

/**
 * The samples of a block come when the last of them is due, counted from open().
 * @throws Failure as openWav does, or 'audio-channel' when the file has not that many channels
 */
export function createWavSource(options: WavSourceOptions): AudioSource {
  const { clock, channel } = options
  const reader = openWav(options.file)
  checkChannel(reader, channel)
  const name = `wav:${options.file}`
  const counters = { samples: 0, overruns: 0, restarts: 0, faults: 0 }
  const blockSamples = Math.round((reader.sampleRateHz * blockMs) / 1000)
  let cancelNext: Cancel = () => {}
  let isOpen = false
  let isClosed = false
  return {
    name,
    sampleRateHz: reader.sampleRateHz,
    counters,
    open(listener) {
      if (isOpen) throw new RangeError(`${name}: opened twice`)
      isOpen = true
      const startedMs = clock.monotonicMs()
      const next = (): void => {
        const due = Math.min(reader.position + blockSamples, reader.frameCount)
        const dueMs = startedMs + durationMs(due, reader.sampleRateHz)
        cancelNext = clock.at(dueMs, () => {
          try {
            const block = reader.read(blockSamples)?.[channel]
            if (block === undefined) return listener.onEnd()
            counters.samples += block.length
            listener.onBlock(block)
          } catch (error) {
            if (!(error instanceof Failure)) throw error
            counters.faults++
            listener.onFault(error)
            return listener.onEnd()
          }
          if (!isClosed) next()
        })
      }
      if (!isClosed) next()
    },
    async close() {
      if (isClosed) return
      isClosed = true
      cancelNext()
      reader.close()
    },
  }
}

function checkChannel(reader: WavReader, channel: number): void {
  if (channel < reader.channelCount) return
  reader.close()
  throw channelFailure(`wav:${reader.name}`, channel, reader.channelCount)
}

/** The channel wanted is not among those that are there. */
export const channelFailure = (subject: string, channel: number, channelCount: number): Failure =>
  new Failure({
    code: 'audio-channel',
    subject,
    got: `channel ${channel}`,
    expected: channelCount === 1 ? 'channel 0, the only one' : `0 to ${channelCount - 1}`,
    advice: 'channels are counted from 0, the left one',
  })

export interface WavSinkOptions extends PcmLayout {
  readonly file: string
  readonly channel: number
  readonly clock: Clock
}

/**
 * Transmissions at their places on a time line that begins when the sink is made; silence in between. What stop() cut
 * off is cut off in the file too.
 * @throws Failure 'audio-unwritable'
 */
export function createWavSink(options: WavSinkOptions): AudioSink {
  const { clock, sampleRateHz } = options
  const writer = createWav(options.file, options)
  const name = `wav:${options.file}`
  const counters: AudioSinkCounters = { samples: 0, underruns: 0, faults: 0 }
  const madeMs = clock.monotonicMs()
  let playing = false
  let stoppedMs: number | undefined
  let isClosed = false
  let wait: Wait | undefined
  const nowSamples = (): number =>
    Math.round(((clock.monotonicMs() - madeMs) * sampleRateHz) / 1000)
  const fillUp = (): void => writer.writeSilence(Math.max(0, nowSamples() - writer.frameCount))

  return {
    name,
    sampleRateHz,
    counters,
    get playing() {
      return playing
    },
    async prepare() {},
    async play(samples) {
      refuseSecondPlay(name, playing)
      playing = true
      stoppedMs = undefined
      const kept = samples.slice()
      const startedMs = clock.monotonicMs()
      try {
        fillUp()
        wait = waitUntil(clock, startedMs + durationMs(kept.length, sampleRateHz))
        await wait.over
        const playedMs = (stoppedMs ?? Infinity) - startedMs
        const played = Math.min(kept.length, Math.round((playedMs * sampleRateHz) / 1000))
        writer.write(kept.subarray(0, played))
        counters.samples += played
      } catch (error) {
        counters.faults++
        throw error
      } finally {
        playing = false
        wait = undefined
      }
    },
    stop() {
      stoppedMs ??= clock.monotonicMs()
      wait?.cut()
    },
    async close() {
      if (isClosed) return
      isClosed = true
      this.stop()
      await wait?.over
      writer.close()
    },
  }
}
