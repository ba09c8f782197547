// An hour's recording to its report: it shall take less than 60 s and 300 MB.
import type { Bench } from './bench.js'
import { costOfDecoding, mono } from './decode.js'

export const bench: Bench = {
  name: 'report',
  about: "how long an hour's recording takes to its report, and how much memory",
  async run({ seed }) {
    const { frames, cpuS, tookS, maxRssKb } = await costOfDecoding(
      { ...mono, withReport: true },
      seed,
    )
    console.log(
      `${frames} frames in an hour at 48 kHz: ${tookS.toFixed(0)} s, of them ${cpuS.toFixed(0)} s of CPU; ${(maxRssKb / 1024).toFixed(0)} MB`,
    )
    if (tookS >= 60 || maxRssKb >= 300 * 1024) process.exitCode = 1
  },
}
