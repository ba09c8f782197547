// Signals that were lost, each once. Of one signal, detectors tell several damaged segments, now and then beside the frame that
// another of them read.

/** Input samples since the start. */
export interface Span {
  readonly firstSample: number
  readonly lastSample: number
  /** what the receiver of 9600 bit/s measured on it */
  readonly at9600?: { readonly levelDbfs: number; readonly toneBalanceDb: number } | undefined
}

export interface NearMisses {
  read(frame: Span): void
  /** what the receiver took for a damaged frame */
  damaged(span: Span): void
  /** a signal that was found otherwise: it counts only where nothing was read and nothing was damaged */
  signal(span: Span): void
  /** Each signal that was lost, once: the longest of what was told of it. @param beforeSample that ended before this */
  release(beforeSample: number): Span[]
}

/** @param keptSamples for how long what was read is remembered */
export function createNearMisses(keptSamples: number): NearMisses {
  let known: Span[] = []
  let waiting: Span[] = []
  let signals: Span[] = []
  const isKnown = (one: Span): boolean => known.some((other) => isSame(other, one))
  const remember = (span: Span): void => {
    known = [...known.filter((one) => one.lastSample > span.lastSample - keptSamples), span]
  }
  return {
    read: remember,
    damaged(span) {
      const at = waiting.findIndex((one) => isSame(one, span))
      if (at < 0) waiting.push(span)
      else if (length(span) > length(waiting[at]!)) waiting[at] = span
    },
    signal: (span) => void signals.push(span),
    release(beforeSample) {
      const isDue = (one: Span): boolean => one.lastSample < beforeSample
      const damaged = waiting.filter((one) => isDue(one) && !isKnown(one))
      waiting = waiting.filter((one) => !isDue(one))
      for (const span of damaged) remember(span)
      const others = signals.filter(
        (one) => isDue(one) && !isKnown(one) && !waiting.some((other) => isSame(other, one)),
      )
      signals = signals.filter((one) => !isDue(one))
      return [...damaged, ...others].toSorted((a, b) => a.firstSample - b.firstSample)
    },
  }
}

const length = ({ firstSample, lastSample }: Span): number => lastSample - firstSample

/** Half of the shorter one lies in the other. */
function isSame(one: Span, other: Span): boolean {
  const common =
    Math.min(one.lastSample, other.lastSample) - Math.max(one.firstSample, other.firstSample)
  return common > Math.min(length(one), length(other)) / 2
}
