import type { CandidateFrame, DamagedSegment } from './detector.js'

/** One frame on the air, from all detectors that saw it. */
export interface MergedFrame extends CandidateFrame {
  /** how many candidates agreed */
  readonly votes: number
}

export interface FrameMerger {
  frame(candidate: CandidateFrame): void
  damaged(segment: DamagedSegment): void
  /** What is damaged in a stretch with check octets is not counted before these have been looked at. */
  expect(span: Span): void
  /**
   * What can change no more.
   * @param position working samples that all detectors have seen; Infinity at the end of the stream
   * @returns frames in order of their end
   */
  take(position: number): MergedFrame[]
  /** damaged segments that no frame accounts for; only grows */
  readonly damagedCount: number
  /** where the latest of them were, each given once; what nobody takes is forgotten, the oldest first */
  takeDamaged(): Span[]
}

/**
 * Makes one frame out of the reports of many detectors.
 * The same octets at overlapping times are one frame; the same octets a second later are another.
 * Of different octets at overlapping times, those that needed repair give way to those that did not.
 * @param holdSamples how late a detector may report, counted from a frame's end
 * @param isBelievable what is not, is dropped and not remembered: a later report of the same frame counts afresh
 */
export function createFrameMerger(
  holdSamples: number,
  isBelievable: (frame: MergedFrame) => boolean = () => true,
): FrameMerger {
  let open: MergedFrame[] = []
  // Frames handed out: late copies may still come, and long damaged segments that contain them.
  let closed: MergedFrame[] = []
  let segments: SeenSegment[] = []
  let damagedCount = 0
  let damaged: Span[] = []
  let expected: Span[] = []
  const isExpected = (segment: Span, position: number): boolean =>
    expected.some(
      (span) =>
        span.endSample + decodingSamples > position && overlap(span, segment) > 2 * flagSamples,
    )

  return {
    get damagedCount() {
      return damagedCount
    },
    frame(candidate) {
      if (closed.some((frame) => isSame(frame, candidate))) return
      const at = open.findIndex((frame) => isSame(frame, candidate))
      if (at >= 0) open[at] = merge(open[at]!, candidate)
      else if (open.length < openMax) open.push({ ...candidate, votes: 1 })
    },
    damaged(segment) {
      const seen = segments.find((other) => isSameSegment(other, segment))
      if (seen !== undefined) seen.votes += segment.votes ?? 1
      else if (segments.length < openMax) segments.push({ votes: 1, ...segment })
    },
    expect(span) {
      expected = [...expected.slice(1 - expectedMax), span]
    },
    take(position) {
      if (open.length === 0 && segments.length === 0) return []
      const ready = open.filter(
        (frame) => frame.endSample + holdSamples <= position && isBelievable(frame),
      )
      open = open.filter((frame) => frame.endSample + holdSamples > position)
      const frames = ready
        .filter((frame) => !givesWay(frame, [...ready, ...open, ...closed]))
        .sort((a, b) => a.endSample - b.endSample)
      const read = [...closed, ...frames, ...open]
      closed = [
        ...closed.filter((frame) => frame.endSample + rememberSamples > position),
        ...frames,
      ]
      const isOld = (segment: SeenSegment): boolean =>
        segment.endSample + holdSamples <= position && !isExpected(segment, position)
      const old = segments.filter(isOld)
      segments = segments.filter((segment) => !isOld(segment))
      const withFrames = expected.filter((span) => read.some((frame) => overlap(frame, span) > 0))
      const found = apart(old, [...read, ...withFrames])
      damagedCount += found.length
      expected = expected.filter((span) => span.endSample + decodingSamples > position)
      if (found.length > 0) damaged = [...damaged, ...found].slice(-damagedMax)
      return frames
    },
    takeDamaged() {
      const taken = damaged
      damaged = []
      return taken
    },
  }
}

/** Stretches with check octets that may be under way at once, and how late after their end they are decoded: 0.5 s. */
const expectedMax = 4
const decodingSamples = 6000
/** Candidates that may be open at once: far more than one channel can carry, so that memory stays bounded. */
const openMax = 256
/** Longer than any segment between two flags: 2048 octets with inserted zeros last 196608 samples at 12 kHz. */
const rememberSamples = 200_000
/** A flag lasts 80 samples at 12 kHz: frames that share one overlap by as much. */
const flagSamples = 80

/** Damaged segments that are kept for whoever asks. */
const damagedMax = 32

export interface Span {
  readonly startSample: number
  readonly endSample: number
}

const overlap = (a: Span, b: Span): number =>
  Math.min(a.endSample, b.endSample) - Math.max(a.startSample, b.startSample)

interface SeenSegment extends DamagedSegment {
  votes: number
}

/** A symbol lasts 10 samples. */
const isSameSegment = (a: Span, b: Span): boolean =>
  Math.abs(a.startSample - b.startSample) <= 10 && Math.abs(a.endSample - b.endSample) <= 10

/** Noise makes segments too, but hardly the same one at several timing phases or tone balances. */
const segmentVotesMin = 3

/** Segments that enough decisions agree on, apart from the frames and from each other. */
function apart(segments: readonly SeenSegment[], frames: readonly Span[]): Span[] {
  const taken: Span[] = []
  for (const segment of segments.toSorted((a, b) => b.votes - a.votes)) {
    const isApart = [...frames, ...taken].every(
      (other) => overlap(other, segment) <= 2 * flagSamples,
    )
    if (segment.votes >= segmentVotesMin && isApart) taken.push(segment)
  }
  return taken
}

/** More than half of the time in common: two equal short frames that share a flag are two. */
function isSame(a: CandidateFrame, b: CandidateFrame): boolean {
  const half = Math.min(a.endSample - a.startSample, b.endSample - b.startSample) / 2
  return overlap(a, b) > half && sameOctets(a.octets, b.octets)
}

function sameOctets(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && a.every((octet, index) => octet === b[index])
}

function merge(frame: MergedFrame, candidate: CandidateFrame): MergedFrame {
  const best = candidate.repairedBits < frame.repairedBits ? candidate : frame
  const votes = frame.votes + 1
  const weighted = (seen: number, fresh: number): number => seen + (fresh - seen) / votes
  return {
    ...best,
    // Timing phases around the best one all see the frame: their mean is the better estimate.
    startSample: weighted(frame.startSample, candidate.startSample),
    endSample: weighted(frame.endSample, candidate.endSample),
    precedingFlags: Math.max(frame.precedingFlags, candidate.precedingFlags),
    code: frame.code ?? candidate.code,
    votes,
  }
}

function givesWay(frame: MergedFrame, others: readonly MergedFrame[]): boolean {
  return (
    frame.repairedBits > 0 &&
    others.some(
      (other) =>
        other !== frame &&
        overlap(other, frame) > 2 * flagSamples &&
        (other.repairedBits < frame.repairedBits ||
          (other.repairedBits === frame.repairedBits && other.votes > frame.votes)),
    )
  )
}
