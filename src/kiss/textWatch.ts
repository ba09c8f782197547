import { frameEnd, kissCommand } from './constants.js'

/** Finds text among what a modem sends: one that speaks KISS sends none outside of frames. */
export interface TextWatch {
  /** @returns text that shows that no KISS is spoken, in printable characters; undefined as long as there is none */
  push(chunk: Uint8Array): string | undefined
  reset(): void
}

/** Noise on a line gives that many printable octets in a row, in such a place, about once in 50 tries. */
const printableMin = 4
const textMax = 40

/**
 * Text is a run of printable ASCII octets where no frame is: before the first frame end, or behind a frame end where the type
 * octet is none that a modem sends.
 * @param modemPort the modem's number for the radio that we use
 */
export function createTextWatch(modemPort: number): TextWatch {
  let place: 'outside' | 'type' | 'frame' = 'outside'
  let run = ''

  const take = (octet: number): boolean => {
    if (octet === frameEnd) place = 'type'
    else if (place === 'type') place = isTypeOctet(octet, modemPort) ? 'frame' : 'outside'
    if (place !== 'outside') run = ''
    else if (octet >= 0x20 && octet < 0x7f)
      run = (run + String.fromCharCode(octet)).slice(0, textMax)
    else if (run.length >= printableMin) return true
    else run = ''
    return false
  }
  return {
    push(chunk) {
      for (const octet of chunk) if (take(octet)) break
      // A prompt has no line end.
      if (run.length < printableMin) return undefined
      const text = run
      run = ''
      return text
    },
    reset() {
      place = 'outside'
      run = ''
    },
  }
}

/** Data of any of its radios; of ours, what a modem may answer besides. */
const isTypeOctet = (octet: number, modemPort: number): boolean =>
  (octet & 15) === kissCommand.data ||
  (octet >> 4 === modemPort && answerCommands.includes(octet & 15))

const answerCommands: readonly number[] = [kissCommand.acknowledgedData, kissCommand.setHardware]
