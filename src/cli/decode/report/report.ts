import { statSync } from 'node:fs'
import { basename, dirname, extname, join } from 'node:path'
import type { LostFrame } from '../../../../dsp/causes/lossWatch.js'
import type { ReceivedFrame } from '../../../../dsp/modem/receivedFrame.js'
import { replaceFile } from '../../../devices/replaceFile.js'
import { htmlPage } from '../../shared/htmlPage.js'
import type { RecordingHead } from '../decodeFormat.js'
import { type PageLinks, partPage, summaryOf, trackPage, trackTitle } from './channelPages.js'
import { type IndexLine, indexPage } from './indexPage.js'
import { pageLine, type ReportPage } from './reportPage.js'
import { createReportTrack } from './reportTrack.js'

/** Pages about recordings, made while they are decoded. */
export interface Report {
  /**
   * @param channel of the recording, from 0
   * @param isOnly the report is about nothing else: the file itself tells it; else that is an index
   */
  track(recording: RecordingHead, channel: number, isOnly: boolean): TrackReport
  /** A recording that could not be read, and why. */
  unread(name: string, why: string): void
  /** Writes what goes over all of them. @throws Failure 'output-unwritable' */
  end(): void
}

/** One channel of a recording. Everything but reading @throws Failure 'output-unwritable' */
export interface TrackReport {
  /** what is given to the receiver, too */
  push(block: Float32Array): void
  /** what was read and what was lost of all that was pushed */
  take(frames: readonly ReceivedFrame[], lost: readonly LostFrame[]): void
  /** It is read to its end, or given up. */
  finish(): void
}

/**
 * @param target a file, or a folder that is there: its index.html. What does not fit into it lies in a folder beside it,
 * called as the file with '-pages' behind it.

 * @throws Failure 'output-unwritable' at once
 */
export function openReport(target: string): Report {
  const file = isFolder(target) ? join(target, 'index.html') : target
  const folder = `${basename(file, extname(file))}-pages`
  const index = `../${encodeURIComponent(basename(file))}`
  const write = (name: string, text: string): void =>
    replaceFile(join(dirname(file), folder, name), text, { durable: false })
  const fromFile = (name: string): string =>
    `${encodeURIComponent(folder)}/${encodeURIComponent(name)}`
  const lines: IndexLine[] = []
  // Whoever cannot write there hears of it now, and not after hours of audio.
  replaceFile(file, htmlPage('Not finished', '<p>This report is not finished.</p>'), {
    durable: false,
  })
  let isIndexed = true
  let trackCount = 0

  return {
    track(recording, channel, isOnly) {
      isIndexed = !isOnly
      const title = trackTitle(recording, channel)
      const stem = `${String(++trackCount).padStart(2, '0')}-${fileStem(recording.name, channel)}`
      const main = `${stem}.html`
      const parts: string[] = []
      const partName = (number: number): string => `${stem}-${number}.html`
      const addPart = (page: ReportPage, isLast: boolean): void => {
        const number = parts.length + 1
        const links: PageLinks = {
          ...{ number, up: isOnly ? index : main },
          previous: number === 1 ? undefined : partName(number - 1),
          next: isLast ? undefined : partName(number + 1),
        }
        write(partName(number), partPage(title, page, links))
        const href = isOnly ? fromFile(partName(number)) : partName(number)
        parts.push(pageLine(page, href))
      }
      const track = createReportTrack(recording.sampleRateHz, (page) => addPart(page, false))
      return {
        ...track,
        finish() {
          const findings = track.finish()
          if (parts.length > 0) addPart(findings.lastPage, true)
          const up = isOnly ? undefined : index
          const text = trackPage({ title, recording, findings, parts, up })
          if (isOnly) replaceFile(file, text, { durable: false })
          else write(main, text)
          lines.push({
            ...{ recording: recording.name, title, href: fromFile(main) },
            summary: summaryOf(findings),
          })
        },
      }
    },
    unread: (name, why) => void lines.push({ recording: name, problem: why }),
    end() {
      if (isIndexed) replaceFile(file, indexPage(lines), { durable: false })
    },
  }
}

function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory()
  } catch {
    // Whatever is wrong with it is told when it is written.
    return false
  }
}

/** Part of a file's name on any system, whatever the recording is called. */
const fileStem = (name: string, channel: number): string =>
  `${basename(name, extname(name))
    .replace(/[^A-Za-z0-9_-]+/g, '_')
    .slice(0, 60)}${channel === 0 ? '' : `-channel-${channel}`}`
