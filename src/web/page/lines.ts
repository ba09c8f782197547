// The lines of the strip as they are shown: newest first, those of a flood no faster than the machine can.
import { signal } from '@preact/signals'
import type { Entry } from './entry'

export const entries = signal<readonly Entry[]>([])
export const entriesMax = 300

/** Anew, out of the log. @param readWallMs when the state was read: from then on the stream tells as well */
export function beginLines(lines: readonly Entry[], readWallMs: number): void {
  waiting = []
  toldTwice = lines.filter(({ atWallMs }) => atWallMs >= readWallMs - sameMs)
  entries.value = lines
}

/**
 * Lines that wait to be shown, oldest first. A machine that is slow to show them shows them less often: in a flood each picture
 * would be another one, and what came meanwhile would come all at once.
 */
let waiting: Entry[] = []
let isShowing = false
const showGapMs = { least: 100, most: 2000, perCost: 4 }

/** Shows these as soon as the machine can, oldest first. */
export function addLines(added: readonly Entry[]): void {
  waiting = [...waiting, ...added].slice(-entriesMax)
  if (!isShowing) showLines()
}

/** Lines out of the log of what happened once the state was read: the stream tells of these as well. */
let toldTwice: Entry[] = []
/** A frame's event is stamped a little later than the frame. */
const sameMs = 2000

/** @returns the lines shown, without those out of the log that the stream tells of now, and knows more of */
function withoutToldTwice(added: readonly Entry[]): readonly Entry[] {
  if (toldTwice.length === 0) return entries.value
  const isSame = (one: Entry, other: Entry): boolean =>
    one.radio === other.radio &&
    one.kind === other.kind &&
    one.station === other.station &&
    // The log has figures in words.
    (one.text === other.text || one.kind === 'damaged') &&
    Math.abs(one.atWallMs - other.atWallMs) < sameMs
  const gone = new Set<Entry>()
  for (const line of added) {
    const first = toldTwice.find((other) => !gone.has(other) && isSame(line, other))
    if (first !== undefined) gone.add(first)
  }
  toldTwice = toldTwice.filter((line) => !gone.has(line))
  return entries.value.filter((line) => !gone.has(line))
}

function showLines(): void {
  isShowing = true
  entries.value = [...waiting.reverse(), ...withoutToldTwice(waiting)]
    .sort((a, b) => b.atWallMs - a.atWallMs)
    .slice(0, entriesMax)
  waiting = []
  const startedMs = performance.now()
  // A turn later it has been shown.
  setTimeout(() => {
    const costMs = (performance.now() - startedMs) * showGapMs.perCost
    setTimeout(
      () => {
        isShowing = false
        if (waiting.length > 0) showLines()
      },
      Math.min(showGapMs.most, Math.max(showGapMs.least, costMs)),
    )
  })
}
