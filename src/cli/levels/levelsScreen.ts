import type { ReceivedFrame } from '../../../dsp/modem/receivedFrame.js'
import type { Edges } from '../../devices/edges.js'
import { type TextOutput, textOutput } from '../shared/textOutput.js'
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
  /** nobody looks any more */
  readonly isGone: boolean
}

/** A block of lines that is drawn over itself on a terminal; line by line elsewhere. */
/** @param isDrawn false gives plain lines: for a file, a pipe, or somebody who listens to them */
export function createLevelsScreen(stream: Edges['stdout'], isDrawn: boolean): LevelsScreen {
  const output = textOutput(stream, 'standard output')
  return isDrawn ? drawn(output, () => stream.columns ?? 80) : plain(output)
}

function drawn(output: TextOutput, columns: () => number): LevelsScreen {
  let height = 0
  const hide = (): void => {
    // Up to the block's first line, and clear everything below.
    if (height > 0) output.write(`\x1b[${height}A\r\x1b[J`)
    height = 0
  }
  const show = (reading: LevelsReading): void => {
    const lines = meterLines(reading, columns())
    const back = height > 0 ? `\x1b[${height}A\r` : ''
    // Each line clears its own rest: clearing the whole block first would flicker.
    output.write(`${back}${lines.map((line) => `${line}\x1b[K\n`).join('')}\x1b[J`)
    height = lines.length
  }
  return {
    intervalMs: 200,
    show,
    frame: () => {},
    hide,
    end: show,
    get isGone() {
      return output.isGone
    },
  }
}

function plain(output: TextOutput): LevelsScreen {
  return {
    intervalMs: 1000,
    show: (reading) => output.write(`${meterLine(reading)}\n`),
    frame: (frame) => output.write(`           packet of ${frameText(frame)}\n`),
    hide: () => {},
    end(total) {
      const packets = total.frameCount === 1 ? '1 packet' : `${total.frameCount} packets`
      output.write(`in all:\n${meterLine(total)}  ${packets}\n`)
      for (const advice of total.advice) output.write(`* ${advice}\n`)
    },
    get isGone() {
      return output.isGone
    },
  }
}
