/*
 * A sound card's output through aplay, one process a transmission.
 *
 * Why not one long-lived process that is fed silence in between: what is queued in its pipe and buffer would stand in
 * front of each transmission, the card's clock would drift against ours, and a stall of ours would be heard as noise.
 * A process of its own plays exactly the samples it was given, says by its end that the last one has left (it drains the
 * card first), and falls silent at once when it is killed.
 *
 * Its one drawback, the time to start and to open the card, is taken out beforehand: a process is always kept waiting
 * with the card open and set up (aplay opens the card before it reads). play() then only writes to a pipe.
 *
 * For the radio: key first, then call play(); the first sample leaves within a few milliseconds plus the card's own
 * delay. play() settles between 0 and about 20 ms after the last sample: aplay fills the last period up with silence,
 * and has to end.
 */
import type { ChildProcessWithoutNullStreams } from 'node:child_process'
import { type ChildEnd, childEnd } from '../devices/child.js'
import { createReopening } from '../devices/reopening.js'
import type { Clock } from '../runtime/clock.js'
import { Failure } from '../runtime/failure.js'
import {
  type AlsaReport,
  alsaFailure,
  alsaFormats,
  createAlsaReport,
  rateFailure,
} from './alsaReport.js'
import type { SpawnChild } from './audioChild.js'
import type { AudioSink, AudioSinkCounters, PcmLayout } from './audioDevice.js'
import { retryMs } from './liveSource.js'
import { durationMs, refuseSecondPlay, type Wait, waitUntil } from './playOut.js'
import { encodePcm } from './rawPcm.js'

export interface AlsaSinkOptions extends PcmLayout {
  /** an ALSA device name: 'plughw:CARD=Device,DEV=0' */
  readonly device: string
  /** the channel that carries the audio; the others are silent */
  readonly channel: number
  readonly clock: Clock
  readonly spawn: SpawnChild
}

const bufferUs = 200_000
const periodUs = 10_000

/** One aplay: waiting with the card open, or playing. */
interface Player {
  readonly child: ChildProcessWithoutNullStreams
  readonly report: AlsaReport
  /** settles when the card is open; rejects with a Failure when the process ends before that */
  readonly ready: Promise<void>
  readonly ended: Promise<ChildEnd>
  failure(end: ChildEnd): Failure
}

export function createAlsaSink(options: AlsaSinkOptions): AudioSink {
  const { clock, sampleRateHz, sampleFormat, channel, channelCount } = options
  const name = `alsa:${options.device}`
  const counters: AudioSinkCounters = { samples: 0, underruns: 0, faults: 0 }
  let waiting: Player | undefined
  let current: Player | undefined
  let isStopped = false
  let isClosed = false
  let playing = false
  let rest: Wait | undefined

  const makeReady = (): Player => {
    reopening.cancel()
    const player = startPlayer(name, options)
    waiting = player
    player.ready.then(
      () => reopening.sound(),
      () => {},
    )
    void player.ended.then(() => {
      if (waiting !== player) return
      waiting = undefined
      if (!isClosed) reopening.later()
    })
    return player
  }

  const reopening = createReopening(clock, retryMs, makeReady)

  const playOn = async (player: Player, endsMs: number): Promise<void> => {
    const end = await player.ended
    counters.underruns += player.report.lapses
    if (isStopped) return
    if (end.exitCode !== 0) {
      counters.faults++
      throw player.failure(end)
    }
    // A device without a clock (a file, the null device) is done too early; a radio must not be unkeyed by it.
    rest = waitUntil(clock, endsMs)
    await rest.over
  }

  makeReady()
  return {
    name,
    sampleRateHz,
    counters,
    get playing() {
      return playing
    },
    async prepare() {
      if (isClosed) return
      await (waiting ?? current ?? makeReady()).ready
    },
    async play(samples) {
      refuseSecondPlay(name, playing)
      if (isClosed) throw closedFailure(name)
      const player = waiting ?? makeReady()
      waiting = undefined
      current = player
      isStopped = false
      playing = true
      player.child.stdin.end(encodePcm(samples, sampleFormat, channel, channelCount))
      const endsMs = clock.monotonicMs() + durationMs(samples.length, sampleRateHz)
      try {
        await playOn(player, endsMs)
        if (!isStopped) counters.samples += samples.length
      } finally {
        playing = false
        current = undefined
        rest = undefined
        if (!isClosed) makeReady()
      }
    },
    stop() {
      isStopped = true
      current?.child.kill('SIGKILL')
      rest?.cut()
    },
    async close() {
      isClosed = true
      reopening.cancel()
      this.stop()
      waiting?.child.kill('SIGKILL')
      await Promise.all([waiting?.ended, current?.ended])
    },
  }
}

function startPlayer(name: string, options: AlsaSinkOptions): Player {
  const child = options.spawn('aplay', [
    ...['-v', '-D', options.device, '-t', 'raw', '-f', alsaFormats[options.sampleFormat]],
    ...['-r', String(options.sampleRateHz), '-c', String(options.channelCount)],
    // A start delay of 1 µs: the card starts with the first period, not with a full buffer.
    ...['-B', String(bufferUs), '-F', String(periodUs), '-R', '1', '-'],
  ])
  const ended = childEnd(child)
  let wrongRate: Failure | undefined
  let becomeReady = (): void => {}
  const report = createAlsaReport(
    () => {},
    () => {
      const gotHz = report.sampleRateHz ?? options.sampleRateHz
      if (Math.abs(gotHz - options.sampleRateHz) <= options.sampleRateHz * 1e-3)
        return becomeReady()
      wrongRate = rateFailure(name, gotHz, options.sampleRateHz)
      child.kill('SIGKILL')
    },
  )
  const failure = (end: ChildEnd): Failure =>
    wrongRate ?? alsaFailure(name, end, report, 'a device that plays')
  const ready = new Promise<void>((resolve, reject) => {
    becomeReady = resolve
    void ended.then((end) => reject(failure(end)))
  })
  // Who does not wait for it need not hear of it: play() fails by itself.
  ready.catch(() => {})
  child.stderr.setEncoding('utf8').on('data', (text: string) => report.push(text))
  child.stdout.resume()
  return { child, report, ready, ended, failure }
}

const closedFailure = (name: string): Failure =>
  new Failure({
    code: 'audio-closed',
    subject: name,
    got: 'a transmission after the output was closed',
    expected: 'none',
  })
