import { createCombinedReceiver } from '../../../dsp/modem/combinedReceiver.js'
import type { Modem } from '../../../dsp/modem/modems.js'
import type {
  DamagedFrame,
  ReceivedFrame,
  ReceiverCounters,
  RepairLevel,
} from '../../../dsp/modem/receivedFrame.js'

/** What decodes one channel of a recording, or all of them together. */
export interface Listener {
  /** the one whose audio a report shows, and whose number a frame gets */
  readonly channel: number
  /** @param block of each channel of the recording */
  push(block: readonly Float32Array[]): ReceivedFrame[]
  finish(): ReceivedFrame[]
  takeDamaged(): DamagedFrame[]
  readonly counters: Readonly<ReceiverCounters>
  /** what each receiver gave, in words */
  remark?(): string
}

interface ListenerOptions extends Pick<Modem, 'createReceiver'> {
  readonly sampleRateHz: number
  readonly repair: RepairLevel
  readonly il2p: boolean
}

export function channelListener(channel: number, options: ListenerOptions): Listener {
  const receiver = options.createReceiver(options)
  return {
    channel,
    push: (block) => receiver.push(block[channel]!),
    finish: receiver.finish,
    takeDamaged: receiver.takeDamaged,
    counters: receiver.counters,
  }
}

/** Channels that are receivers of one transmission. */
export function combinedListener(channelCount: number, options: ListenerOptions): Listener {
  const receiver = createCombinedReceiver(options, channelCount)
  const { alone } = receiver.contributions
  return {
    channel: 0,
    push: receiver.push,
    finish: receiver.finish,
    takeDamaged: receiver.takeDamaged,
    counters: receiver.counters,
    remark: () => {
      const each = alone.map((frames, channel) => `${frames} by channel ${channel}`).join(', ')
      return `heard ${each}, ${receiver.contributions.joint} only out of several together; each counted once above`
    },
  }
}
