import { closeSync, openSync, writeSync } from 'node:fs'
import { pcapHeader, pcapRecord } from '../capture/pcap.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

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
  const orFailure = <Value>(run: () => Value): Value => {
    try {
      return run()
    } catch (cause) {
      throw new Failure({
        code: 'capture-unwritable',
        subject: file,
        got: errorText(cause),
        expected: 'a file that can be written',
        cause,
      })
    }
  }
  const descriptor = orFailure(() => openSync(file, 'w'))
  const put = (octets: Uint8Array): void => {
    for (let done = 0; done < octets.length; )
      done += orFailure(() => writeSync(descriptor, octets, done))
  }
  put(pcapHeader())
  return {
    write: (octets, atMs, channel) => put(pcapRecord(octets, atMs, Math.min(channel, 15))),
    close: () => closeSync(descriptor),
  }
}
