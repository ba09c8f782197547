import type { ReceivedFrame } from '../../dsp/modem/receivedFrame.js'
import type { Edges } from './edges.js'
import { frameText, type LevelsReading, meterLine, meterLines } from './levelsView.js'

/** Where readings are shown. */
export interface LevelsScreen {
  /** how often a reading is worth showing */
  readonly intervalMs: number
  show(reading: LevelsReading): void
  frame(frame: ReceivedFrame): void
  /** Makes room for other text. */
  hide(): void
  end(total: LevelsReading): void
}

/** A block of lines that is drawn over itself on a terminal; line by line elsewhere. */
export function createLevelsScreen(stream: Edges['stdout']): LevelsScreen {
  return stream.isTTY === true ? drawn(stream) : plain(stream)
}

function drawn(stream: Edges['stdout']): LevelsScreen {
  let height = 0
  const hide = (): void => {
    // Up to the block's first line, and clear everything below.
    if (height > 0) stream.write(`\x1b[${height}A\r\x1b[J`)
    height = 0
  }
  const show = (reading: LevelsReading): void => {
    const lines = meterLines(reading, stream.columns ?? 80)
    const back = height > 0 ? `\x1b[${height}A\r` : ''
    // Each line clears its own rest: clearing the whole block first would flicker.
    stream.write(`${back}${lines.map((line) => `${line}\x1b[K\n`).join('')}\x1b[J`)
    height = lines.length
  }
  return { intervalMs: 200, show, frame: () => {}, hide, end: show }
}

function plain(stream: Edges['stdout']): LevelsScreen {
  return {
    intervalMs: 1000,
    show: (reading) => void stream.write(`${meterLine(reading)}\n`),
    frame: (frame) => void stream.write(`           packet of ${frameText(frame)}\n`),
    hide: () => {},
    end(total) {
      const packets = total.frameCount === 1 ? '1 packet' : `${total.frameCount} packets`
      stream.write(`in all:\n${meterLine(total)}  ${packets}\n`)
      for (const advice of total.advice) stream.write(`* ${advice}\n`)
    },
  }
}
