import { errorText } from '../runtime/errorText.js'
import { pcapHeader, pcapRecord } from './pcap.js'

/** A capture beside a node that runs: it never throws, and ends with the node. */
export interface SteadyCapture {
  /**
   * @param octets AX.25 frame without FCS
   * @param radio 15 for all beyond
   */
  write(octets: Uint8Array, wallMs: number, radio: number): void
  /** records that were not written */
  readonly lostCount: number
  close(): void
}

export interface SteadyCaptureOptions {
  /** As writeSync: writes as many as there is room for. @returns how many; throws when there is none */
  readonly writeSome: (octets: Uint8Array) => number
  readonly close: () => void
  /** told once, when records begin to be lost, and when they are written again */
  readonly onTrouble: (text: string) => void
}

/**
 * A full disk, or a reader that does not read, loses whole records and nothing else; what follows when there is room again
 * is a sound capture. A record of which a part was written is ended first, before anything else follows it.
 */
export function steadyCapture(options: SteadyCaptureOptions): SteadyCapture {
  const { writeSome, onTrouble } = options
  /** what must be written before another record may begin */
  let unfinished = pcapHeader()
  let lostCount = 0
  let lostInARow = 0

  /** @returns in words why not all of it was written */
  const finish = (): string | undefined => {
    try {
      while (unfinished.length > 0) {
        const count = writeSome(unfinished)
        if (count <= 0) return 'it takes nothing'
        unfinished = unfinished.subarray(count)
      }
      return undefined
    } catch (error) {
      return errorText(error)
    }
  }
  const lose = (reason: string): void => {
    lostCount++
    lostInARow++
    if (lostInARow === 1)
      onTrouble(`frames are not captured: ${reason}; they are when there is room`)
  }
  const trouble = finish()
  if (trouble !== undefined) onTrouble(`cannot be written: ${trouble}; tried again with each frame`)

  return {
    write(octets, wallMs, radio) {
      const before = finish()
      if (before !== undefined) {
        lose(before)
        return
      }
      unfinished = pcapRecord(octets, wallMs, Math.min(radio, 15))
      const length = unfinished.length
      const reason = finish()
      if (reason !== undefined && unfinished.length === length) {
        // nothing of it is in the file: the next one may be
        unfinished = new Uint8Array()
        lose(reason)
      } else if (reason === undefined && lostInARow > 0) {
        onTrouble(`frames are captured again; ${lostInARow} were not`)
        lostInARow = 0
      }
    },
    get lostCount() {
      return lostCount
    },
    close: options.close,
  }
}
