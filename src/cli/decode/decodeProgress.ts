import type { Edges } from '../../devices/edges.js'
import type { Clock } from '../../runtime/clock.js'
import { clockText, type RecordingHead } from './decodeFormat.js'
import type { Tally } from './decodeTally.js'

/** A bar on a terminal, while a recording takes longer than a moment; nothing elsewhere. */
export interface Progress {
  /** Brings the bar up to date, ten times a second at most. */
  show(recording: RecordingHead, doneS: number, frames: number): void
  /** Takes the bar away, before other text is written. */
  hide(): void
}

const firstAfterMs = 700
const intervalMs = 100
const plainEveryMs = 10_000
const barLength = 24

/** @param isDrawn false on a terminal gives a plain line now and then, for a screen reader or a terminal without a cursor */
export function createProgress(stream: Edges['stderr'], clock: Clock, isDrawn: boolean): Progress {
  if (stream.isTTY !== true) return { show: () => {}, hide: () => {} }
  const startedMs = clock.monotonicMs()
  let dueMs = startedMs + (isDrawn ? firstAfterMs : plainEveryMs)
  let isShown = false
  let beforeS = 0
  let lastDoneS = 0
  return {
    show(recording, doneS, frames) {
      // The next recording has begun.
      if (doneS < lastDoneS) beforeS += lastDoneS
      lastDoneS = doneS
      const nowMs = clock.monotonicMs()
      if (nowMs < dueMs) return
      dueMs = nowMs + (isDrawn ? intervalMs : plainEveryMs)
      const timesReal = ((beforeS + doneS) * 1000) / (nowMs - startedMs)
      const text = progressText(recording, doneS, frames, timesReal, isDrawn)
      if (!isDrawn) {
        stream.write(`${text}\n`)
        return
      }
      stream.write(`\r\x1b[K${text.slice(0, (stream.columns ?? 80) - 1)}`)
      isShown = true
    },
    hide() {
      if (isShown) stream.write('\r\x1b[K')
      isShown = false
    },
  }
}

function progressText(
  recording: RecordingHead,
  doneS: number,
  frames: number,
  timesReal: number,
  isDrawn: boolean,
): string {
  const { durationS } = recording
  const found = `${frames} ${frames === 1 ? 'frame' : 'frames'}`
  const speed = `${timesReal.toFixed(0)} times real time`
  if (durationS === undefined) return `${clockText(doneS, 0)}  ${found}  ${speed}`
  const share = Math.min(1, doneS / durationS)
  const filled = Math.round(share * barLength)
  const bar = '#'.repeat(filled) + '.'.repeat(barLength - filled)
  const percent = `${Math.floor(share * 100)} %`.padStart(5)
  const drawing = isDrawn ? `[${bar}]${percent}` : percent.trim()
  return `${drawing}  ${clockText(doneS, 0)} of ${clockText(durationS, 0)}  ${found}  ${speed}`
}

/** What a run found and how fast it was: one line. */
export function summaryText(total: Tally, tookS: number, isStopped: boolean): string {
  const unread = total.unreadFiles === 0 ? '' : `, ${total.unreadFiles} of them not read`
  const files = total.files + total.unreadFiles
  const parts = [
    ...(files > 1 || total.unreadFiles > 0
      ? [`${files} ${files === 1 ? 'recording' : 'recordings'}${unread}`]
      : []),
    ...(total.files === 0 && total.unreadFiles > 0 ? [] : foundParts(total, tookS)),
  ]
  return `${isStopped ? 'stopped early: ' : ''}${parts.join('; ')}`
}

function foundParts(total: Tally, tookS: number): string[] {
  return [
    `${total.frames} ${total.frames === 1 ? 'frame' : 'frames'} (${total.repaired} repaired)`,
    `${total.fcsRejected} rejected for FCS`,
    ...(total.implausible > 0 ? [`${total.implausible} without an address`] : []),
    `${clockText(total.audioS, 1)} of audio in ${tookS.toFixed(1)} s, ${(total.audioS / Math.max(tookS, 1e-3)).toFixed(0)} times real time`,
  ]
}
