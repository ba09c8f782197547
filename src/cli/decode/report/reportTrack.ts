import type { LostFrame } from '../../../../dsp/causes/lossWatch.js'
import { rowsPerSecond } from '../../../../dsp/measure/spectrumRows.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'
import { workingRateHz } from '../../../../dsp/modem/frontEnd/frontEnd.js'
import type { ReceivedFrame } from '../../../../dsp/modem/receivedFrame.js'
import { createResampler } from '../../../../dsp/resample/resampler.js'
import type { PacketFigures } from '../../../radio/packetAdvice.js'
import { damagedEntry, readEntry } from './entry.js'
import { readMarginS } from './framePictures.js'
import { createReportPage, type ReportPage } from './reportPage.js'
import { createTimeColumns } from './timeColumns.js'
import { createTimeline, type Timeline } from './timeline.js'

/** One channel of a recording, on its way into a report. */
export interface ReportTrack {
  /** what is given to the receiver, too */
  push(block: Float32Array): void
  /** what was read and what was lost of all that was pushed */
  take(frames: readonly ReceivedFrame[], lost: readonly LostFrame[]): void
  finish(): TrackFindings
}

export interface TrackFindings {
  readonly durationS: number
  readonly readCount: number
  readonly repairedCount: number
  readonly damagedCount: number
  readonly overview: Timeline
  /** of what was read and what was damaged, the first ones */
  readonly figures: readonly PacketFigures[]
  /** the last page, which was handed to nobody yet */
  readonly lastPage: ReportPage
}

/** Longer than a frame and the largest block of a recording. */
const historySamples = 22 * workingRateHz
/** No more than the receiver waits for after a frame. */
const marginSamples = readMarginS * workingRateHz
/** Of a damaged one more is told later, and what was before and behind it may tell why. */
const damagedMarginS = 0.1
const overviewColumns = 940
const figuresMax = 2000

/** @param onPage told of each page that is full; the last one is among the findings */
export function createReportTrack(
  sampleRateHz: number,
  onPage: (page: ReportPage) => void,
): ReportTrack {
  const resampler = createResampler({ fromHz: sampleRateHz, toHz: workingRateHz })
  const history = createAudioHistory(historySamples)
  const columns = createTimeColumns(sampleRateHz)
  const overview = createTimeline(overviewColumns, 1 / rowsPerSecond)
  const figures: PacketFigures[] = []
  let [samples, readCount, repairedCount, damagedCount] = [0, 0, 0, 0]
  let rowCount = 0
  let page = createReportPage(0)

  const turnPage = (): void => {
    if (!page.isFull) return
    onPage(page)
    page = createReportPage(rowCount / rowsPerSecond)
  }
  const audioOf = (firstSample: number, lastSample: number, margin: number): Float32Array => {
    const scale = workingRateHz / sampleRateHz
    const from = Math.round(firstSample * scale) - margin
    return history.slice(from, Math.round(lastSample * scale) + margin)
  }
  const note = (
    kind: 'read' | 'damaged',
    one: { firstSample: number; lastSample: number },
    measured: PacketFigures,
    entryOf: (id: string, fromS: number, toS: number, audio: Float32Array) => string,
  ): void => {
    turnPage()
    const [fromS, toS] = [one.firstSample / sampleRateHz, one.lastSample / sampleRateHz]
    const margin = kind === 'read' ? marginSamples : damagedMarginS * workingRateHz
    const audio = audioOf(one.firstSample, one.lastSample, margin)
    const { toneBalanceDb } = measured
    page.addEntry({ kind, fromS, toS, toneBalanceDb }, (id) => entryOf(id, fromS, toS, audio))
    overview.note(fromS, kind, toneBalanceDb)
    if (figures.length < figuresMax) figures.push(measured)
  }

  const noteLost = (lost: LostFrame): void => {
    damagedCount++
    note('damaged', lost, lost, (id, fromS, toS, audio) =>
      damagedEntry(id, { fromS, toS }, { lost, marginS: damagedMarginS }, audio),
    )
  }

  return {
    push(block) {
      samples += block.length
      const working = resampler.process(block)
      history.append(working)
      for (const column of columns.push(block, working)) {
        turnPage()
        page.addRow(column)
        // The overview merges in place.
        overview.add({ ...column, levels: column.levels.slice() })
        rowCount++
      }
    },
    take(frames, lost) {
      for (const frame of frames) {
        readCount++
        if (frame.repairedBits > 0) repairedCount++
        note('read', frame, frame.quality, (id, fromS, _, audio) =>
          readEntry(id, fromS, frame, audio),
        )
      }
      for (const one of lost) noteLost(one)
    },
    finish() {
      const durationS = samples / sampleRateHz
      return {
        ...{ durationS, readCount, repairedCount, damagedCount, overview, figures },
        lastPage: page,
      }
    },
  }
}
