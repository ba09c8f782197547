import { closeSync, constants, openSync, writeSync } from 'node:fs'
import { pcapHeader, pcapRecord } from '../../capture/pcap.js'
import { type SteadyCapture, steadyCapture } from '../../capture/steadyCapture.js'
import { orFailure } from '../../runtime/orFailure.js'

/** A capture of what was found in recordings. */
export interface CaptureFile {
  /**
   * @param atMs place in the recording, which becomes time since 1970
   * @param channel stands as the radio's number; 15 for all beyond
   * @throws Failure 'capture-unwritable'
   */
  write(octets: Uint8Array, atMs: number, channel: number): void
  close(): void
}

/** @throws Failure 'capture-unwritable' */
export function openCapture(file: string): CaptureFile {
  const descriptor = orFailure(captureAt(file), () => openSync(file, 'w'))
  const put = (octets: Uint8Array): void => {
    for (let done = 0; done < octets.length; )
      done += orFailure(captureAt(file), () => writeSync(descriptor, octets, done))
  }
  put(pcapHeader())
  return {
    write: (octets, atMs, channel) => put(pcapRecord(octets, atMs, Math.min(channel, 15))),
    close: () => closeSync(descriptor),
  }
}

/**
 * A capture beside a node that runs, which no fault of the disk ends. A named pipe or a device without a reader that keeps
 * up loses frames; it never makes the node wait.
 * @param onTrouble told once, when frames begin to be lost, and when they are written again
 * @throws Failure 'capture-unwritable' when it cannot be opened
 */
export function openSteadyCapture(file: string, onTrouble: (text: string) => void): SteadyCapture {
  const { O_WRONLY, O_CREAT, O_TRUNC, O_NONBLOCK } = constants
  const descriptor = orFailure(captureAt(file), () =>
    openSync(file, O_WRONLY | O_CREAT | O_TRUNC | O_NONBLOCK, 0o666),
  )
  return steadyCapture({
    writeSome: (octets) => writeSync(descriptor, octets),
    close: () => closeSync(descriptor),
    onTrouble: (text) => onTrouble(`${file}: ${text}`),
  })
}

const captureAt = (file: string) =>
  ({ code: 'capture-unwritable', subject: file, cannotBe: 'written' }) as const
