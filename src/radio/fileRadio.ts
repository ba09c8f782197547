import type { AudioListener, AudioSource, PcmLayout } from '../audio/audioDevice.js'
import { openAudioSink } from '../audio/openAudio.js'
import { createWavSource } from '../audio/wavDevices.js'
import { openEdgeLog } from '../ptt/edgeLog.js'
import { directLine } from '../ptt/keyLine.js'
import { noneOutput } from '../ptt/noneOutput.js'
import { every } from '../runtime/clock.js'
import type { VirtualClock } from '../runtime/virtualClock.js'
import { checkBitRate } from './bitRate.js'
import { checkIdentificationFits } from './identificationFits.js'
import { createRadioCore, type RadioCore, type RadioCoreOptions } from './radioCore.js'
import type { RadioPort } from './radioPort.js'

export interface FileRadioOptions
  extends Pick<
    RadioCoreOptions,
    'modem' | 'radio' | 'name' | 'random' | 'receiver' | 'transmit' | 'levelDbfs' | 'toneBalanceDb'
  > {
  /** moves only as run() moves it; everything that belongs to this radio must live on it */
  readonly clock: VirtualClock
  /** a WAV file; channel of it */
  readonly inputFile: string
  readonly channel: number
  /** a WAV file, written anew on the same time line; without one the radio only receives */
  readonly outputFile?: string | undefined
  readonly outputLayout: PcmLayout
  /** edges of the key line, in the clock's time; empty for none */
  readonly logFile: string
}

export interface FileRun {
  /** length of the recording */
  readonly inputMs: number
  /** length of the time line in all */
  readonly totalMs: number
  /** false when the limit came first */
  readonly wasIdle: boolean
}

/** A radio whose air is a recording. */
export interface FileRadio {
  readonly port: RadioPort
  /**
   * Lets the recording pass, faster than real time and the same on every machine, then silence until nothing is left to do;
   * closes the port. Once only.
   * @param options.isIdle whether the others on this clock have nothing left to do
   * @param options.silenceMsMax longest silence after the recording
   * @param options.settle awaited at each step; lets real files and databases answer where others use them
   */
  run(options: {
    readonly silenceMsMax: number
    readonly isIdle?: () => boolean
    readonly settle?: () => Promise<void>
  }): Promise<FileRun>
}

/** The clock moves by that much at a time, and as finely as its bookings want in between. */
const stepMs = 20
/** After the recording: as long as a frame may lie in the receiver's delays. */
const silenceMsMin = 500
/** The key line is on as long as the audio, rounded up to a sample. */
const keyOverheadMs = 1

/** @throws Failure when the input cannot be read, the output cannot be written, or no identification fits the limits */
export function createFileRadio(options: FileRadioOptions): FileRadio {
  checkIdentificationFits(options.transmit, { keyOverheadMs, unkeyMarginMs: 0 })
  const { clock, channel, inputFile, outputFile, logFile, outputLayout } = options
  const recording = createWavSource({ file: inputFile, channel, clock })
  checkBitRate(options.transmit.bitRate ?? 1200, recording.sampleRateHz, inputFile)
  const source = followedBySilence(recording, clock)
  const sink =
    outputFile === undefined
      ? undefined
      : openAudioSink(`wav:${outputFile}`, { ...outputLayout, channel, clock })
  const log = logFile === '' ? undefined : openEdgeLog(logFile, clock)
  const core: RadioCore = createRadioCore({
    ...options,
    source,
    sink,
    line: directLine(noneOutput(), clock, log),
    keyOverheadMs,
    unkeyMarginMs: 0,
  })

  return {
    port: core,
    async run({ silenceMsMax, isIdle = () => true, settle = async () => {} }) {
      const startedMs = clock.monotonicMs()
      core.start()
      let inputMs: number | undefined
      let wasIdle = false
      for (;;) {
        await clock.advanceToAsync(clock.monotonicMs() + stepMs)
        await settle()
        const nowMs = clock.monotonicMs()
        if (!source.ended) continue
        inputMs ??= nowMs - startedMs
        const silenceMs = nowMs - startedMs - inputMs
        wasIdle = core.idle && isIdle()
        if ((wasIdle && silenceMs >= silenceMsMin) || silenceMs >= silenceMsMax) break
      }
      const closing = core.close()
      // What is still owed at the limit needs time to pass.
      if (!core.idle) await clock.advanceToAsync(clock.monotonicMs() + closeMs)
      await closing
      return { inputMs, totalMs: clock.monotonicMs() - startedMs, wasIdle }
    },
  }
}

/** Covers the wait of a radio that is closed in the middle of something. */
const closeMs = 15_000

/** The recording goes on as silence, so that the receiver hears a free channel and gives out what it holds. */
function followedBySilence(
  recording: AudioSource,
  clock: VirtualClock,
): AudioSource & { readonly ended: boolean } {
  let ended = false
  let cancelSilence = (): void => {}
  return {
    name: recording.name,
    sampleRateHz: recording.sampleRateHz,
    counters: recording.counters,
    get ended() {
      return ended
    },
    open(listener: AudioListener) {
      recording.open({
        onBlock: (block) => listener.onBlock(block),
        onFault: (failure) => listener.onFault(failure),
        onEnd() {
          ended = true
          const silence = new Float32Array(Math.round((recording.sampleRateHz * stepMs) / 1000))
          cancelSilence = every(clock, stepMs, () => listener.onBlock(silence.slice()))
        },
      })
    },
    close() {
      cancelSilence()
      return recording.close()
    },
  }
}
