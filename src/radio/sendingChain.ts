import type { AudioSink } from '../audio/audioDevice.js'
import type { KeyLine } from '../ptt/keyLine.js'
import type { ControllerAction, ControllerInput } from './controllerTypes.js'
import type { TransmissionContent } from './transmission.js'
import { transmissionAudio } from './transmissionAudio.js'

export interface SendingChainOptions {
  readonly line: KeyLine
  readonly sink?: AudioSink | undefined
  readonly peakLevel: number
  readonly toneBalanceDb: number
  /** what the controller must hear */
  readonly onInput: (input: ControllerInput) => void
  readonly onFault: (reason: string) => void
}

/**
 * Does what the controller decides: key line on, audio, key line off; on every error the line goes off first.
 * Answers that come after their transmission has ended are dropped.
 */
export class SendingChain {
  private transmission = 0
  private samples: Float32Array = new Float32Array()

  constructor(private readonly options: SendingChainOptions) {}

  perform(action: Extract<ControllerAction, { kind: 'key' | 'play' | 'unkey' }>): void {
    if (action.kind === 'key') this.key(action.content)
    else if (action.kind === 'play') this.play()
    else this.unkey(action.cut)
  }

  private key(content: TransmissionContent): void {
    const { line, onInput, sink } = this.options
    const transmission = ++this.transmission
    line.key().then(
      (atMs) => {
        if (transmission === this.transmission) onInput({ kind: 'keyed', atMs })
      },
      (error: unknown) => {
        if (transmission === this.transmission) onInput({ kind: 'cut', reason: describe(error) })
      },
    )
    // Made while the line comes on, so that the first flag leaves as soon as it is.
    try {
      this.samples = transmissionAudio(content, {
        sampleRateHz: sink!.sampleRateHz,
        peakLevel: this.options.peakLevel,
        toneBalanceDb: this.options.toneBalanceDb,
      })
    } catch (error) {
      onInput({ kind: 'cut', reason: `the audio cannot be made: ${describe(error)}` })
    }
  }

  private play(): void {
    const { onInput, sink } = this.options
    const transmission = this.transmission
    sink!.play(this.samples).then(
      () => {
        if (transmission === this.transmission) onInput({ kind: 'audioEnded' })
      },
      (error: unknown) => {
        if (transmission === this.transmission)
          onInput({ kind: 'cut', reason: `audio output: ${describe(error)}` })
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
      (error: unknown) => onFault(describe(error)),
    )
    if (cut) sink?.stop()
  }
}

const describe = (error: unknown): string =>
  error instanceof Error ? error.message : String(error)
