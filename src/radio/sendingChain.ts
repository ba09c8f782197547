import type { Modem } from '../../dsp/modem/modems.js'
import type { AudioSink } from '../audio/audioDevice.js'
import type { KeyLine } from '../ptt/keyLine.js'
import { errorText } from '../runtime/errorText.js'
import type { ControllerAction, ControllerInput } from './controllerTypes.js'
import { transmissionAudio } from './transmissionAudio.js'
import type { TransmissionContent } from './transmissionContent.js'

export interface SendingChainOptions {
  readonly line: KeyLine
  readonly sink?: AudioSink | undefined
  readonly peakLevel: number
  readonly toneBalanceDb: number
  readonly modem: Modem
  /** what the controller must hear */
  readonly onInput: (input: ControllerInput) => void
  readonly onFault: (reason: string) => void
  /** the audio output failed: nothing may be keyed until it works again */
  readonly onSinkLost: (error: unknown) => void
}

/**
 * Does what the controller decides: key line on, audio, key line off; on every error the line goes off first.
 * Answers that come after their transmission has ended are dropped.
 */
export class SendingChain {
  private transmission = 0
  private samples: Float32Array = new Float32Array()

  constructor(private readonly options: SendingChainOptions) {}

  /** The first transmission need not wait until this code is compiled. */
  warmUp(): void {
    if (this.options.sink === undefined) return
    const frames = [new Uint8Array(200)]
    for (let count = 0; count < 3; count++)
      this.audioOf({ kind: 'frames', frames, preambleMs: 300, tailMs: 0 })
  }

  perform(action: Extract<ControllerAction, { kind: 'key' | 'play' | 'unkey' }>): void {
    if (action.kind === 'key') this.key(action.content)
    else if (action.kind === 'play') this.play()
    else this.unkey(action.cut)
  }

  private key(content: TransmissionContent): void {
    const { line, onInput } = this.options
    const transmission = ++this.transmission
    // Made before the line comes on: a long transmission takes a small board longer than the dead-man waits, and a carrier
    // without audio is of no use.
    try {
      this.samples = this.audioOf(content)
    } catch (error) {
      onInput({ kind: 'cut', reason: `the audio cannot be made: ${errorText(error)}` })
      return
    }
    line.key().then(
      (atMs) => {
        if (transmission === this.transmission) onInput({ kind: 'keyed', atMs })
      },
      (error: unknown) => {
        if (transmission === this.transmission) onInput({ kind: 'cut', reason: errorText(error) })
      },
    )
  }

  private audioOf(content: TransmissionContent): Float32Array {
    const { peakLevel, sink, toneBalanceDb, modem } = this.options
    const shape = { sampleRateHz: sink!.sampleRateHz, peakLevel, toneBalanceDb }
    return transmissionAudio(content, shape, modem)
  }

  private play(): void {
    const { onInput, onSinkLost, sink } = this.options
    const transmission = this.transmission
    sink!.play(this.samples).then(
      () => {
        if (transmission === this.transmission) onInput({ kind: 'audioEnded' })
      },
      (error: unknown) => {
        if (transmission !== this.transmission) return
        onInput({ kind: 'cut', reason: `audio output: ${errorText(error)}` })
        onSinkLost(error)
      },
    )
  }

  private unkey(cut: boolean): void {
    const { line, onFault, onInput, sink } = this.options
    const transmission = this.transmission
    line.unkey().then(
      (atMs) => {
        if (transmission === this.transmission) onInput({ kind: 'unkeyed', atMs })
      },
      // The controller asks again until the line answers.
      (error: unknown) => onFault(errorText(error)),
    )
    if (cut) sink?.stop()
  }
}
