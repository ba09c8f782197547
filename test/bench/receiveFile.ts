// What the benchmarks of the receiver share: a WAV file through the receiver, and what that cost.
import { createCombinedReceiver } from '../../dsp/modem/combinedReceiver.js'
import type { ReceivedFrame, ReceiverOptions } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { openWav } from '../../src/audio/wavReader.js'

export interface FileReception {
  readonly frames: readonly ReceivedFrame[]
  readonly audioS: number
  readonly cpuS: number
}

/** The first channel of a file through the receiver, in blocks such as `decode` gives it. */
export function receiveFile(
  file: string,
  options: Omit<ReceiverOptions, 'sampleRateHz'>,
): FileReception {
  const wav = openWav(file)
  const receiver = createReceiver({ ...options, sampleRateHz: wav.sampleRateHz })
  const frames: ReceivedFrame[] = []
  const blocks: Float32Array[] = []
  for (let block = wav.read(4800); block !== undefined; block = wav.read(4800))
    blocks.push(block[0]!)
  wav.close()
  // Reading the file is not counted: the peers' is not either.
  const before = process.cpuUsage()
  for (const block of blocks) frames.push(...receiver.push(block))
  frames.push(...receiver.finish())
  const { user, system } = process.cpuUsage(before)
  return { frames, audioS: wav.durationS, cpuS: (user + system) / 1e6 }
}

/** Columns padded to their widest cell; the first column to the left, the others to the right. */
export function table(rows: readonly (readonly (string | number)[])[]): string {
  const widths = rows[0]!.map((_, column) =>
    Math.max(...rows.map((row) => String(row[column] ?? '').length)),
  )
  return rows
    .map((row) =>
      row
        .map((cell, column) =>
          column === 0
            ? String(cell).padEnd(widths[column]!)
            : String(cell).padStart(widths[column]!),
        )
        .join('  '),
    )
    .join('\n')
}

/** A file whose channels are receivers of one transmission. */
export function receiveCombined(
  file: string,
  options: Omit<ReceiverOptions, 'sampleRateHz'>,
): FileReception {
  const wav = openWav(file)
  const { channelCount, sampleRateHz } = wav
  if (channelCount === 1) {
    wav.close()
    return receiveFile(file, options)
  }
  const receiver = createCombinedReceiver({ ...options, sampleRateHz }, channelCount)
  const frames: ReceivedFrame[] = []
  const before = process.cpuUsage()
  for (let block = wav.read(4800); block !== undefined; block = wav.read(4800))
    frames.push(...receiver.push(block))
  frames.push(...receiver.finish())
  wav.close()
  const { user, system } = process.cpuUsage(before)
  return { frames, audioS: wav.durationS, cpuS: (user + system) / 1e6 }
}
