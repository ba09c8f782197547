import type { ServerResponse } from 'node:http'
import type { RadioPort } from '../radio/radioPort.js'
import type { Clock } from '../runtime/clock.js'

const rateHz = 12_000
/** Octets that wait for a listener: two seconds; what comes meanwhile is left out, so that he hears the present. */
const waitingMax = 48_000
/** Whoever takes nothing for so long is dropped: there are few places. */
const stuckMs = 60_000

/** The head of a WAV file that has no end: mono, 16 bits. */
function wavHead(): Buffer {
  const head = Buffer.alloc(44)
  head.write('RIFF', 0, 'latin1')
  head.writeUInt32LE(0xffffffff, 4)
  head.write('WAVEfmt ', 8, 'latin1')
  head.writeUInt32LE(16, 16)
  head.writeUInt16LE(1, 20)
  head.writeUInt16LE(1, 22)
  head.writeUInt32LE(rateHz, 24)
  head.writeUInt32LE(2 * rateHz, 28)
  head.writeUInt16LE(2, 32)
  head.writeUInt16LE(16, 34)
  head.write('data', 36, 'latin1')
  head.writeUInt32LE(0xffffffff, 40)
  return head
}

/** What the receiver gets, until the listener goes or takes nothing any more. */
export function streamAudio(port: RadioPort, response: ServerResponse, clock: Clock): void {
  response.write(wavHead())
  let behindSinceMs: number | undefined
  const stop = port.watch({ spectrum: false, audio: true }, (report) => {
    if (report.kind !== 'audio') return
    if (response.writableLength > waitingMax) {
      behindSinceMs ??= clock.monotonicMs()
      if (clock.monotonicMs() - behindSinceMs > stuckMs) response.destroy()
      return
    }
    behindSinceMs = undefined
    const { buffer, byteOffset, byteLength } = report.samples
    response.write(Buffer.from(buffer, byteOffset, byteLength))
  })
  response.once('close', stop)
}
