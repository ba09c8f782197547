import { transmissionDurationMs } from '../../dsp/modem/modulateTransmission.js'
import type { TransmissionContent } from '../radio/transmissionContent.js'
import type { FrameSpan } from './channel.js'

/** How long a content lasts at 1200 baud, stuffing included, ms. */
export function frameTimesMs(content: TransmissionContent): number {
  if (content.kind === 'tone') return content.durationMs
  return transmissionDurationMs(content)
}

/** Frames share the time between preamble and tail by their bits. */
export function frameSpans(content: TransmissionContent): FrameSpan[] {
  if (content.kind === 'tone') return []
  const spans: FrameSpan[] = []
  let fromMs = content.preambleMs
  for (const octets of content.frames) {
    const alone = { kind: 'frames', frames: [octets], preambleMs: 0, tailMs: 0 } as const
    const toMs = fromMs + frameTimesMs(alone)
    spans.push({ octets, fromMs, toMs })
    fromMs = toMs
  }
  return spans
}
