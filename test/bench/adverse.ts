// Recordings of adverse audio: hum, clicks, echoes, lost samples and the like. Which frames that are really there are found?
import type { Bench } from './bench.js'
import { namesIn, scoreOf } from './graded.js'
import { table } from './receiveFile.js'

export const bench: Bench = {
  name: 'adverse',
  about: 'frames found in graded recordings of adverse audio (--adverse FOLDER)',
  async run({ adverse }) {
    if (adverse === undefined) {
      console.log('skipped: give a folder of graded recordings with --adverse FOLDER')
      return
    }
    const rows = namesIn(adverse).map((name) => {
      const score = scoreOf(adverse, name, 'careful')
      const { sent, found, repaired, wrong, cpuS, audioS } = score
      return [name, sent, found, repaired, wrong, (cpuS / audioS).toFixed(4)]
    })
    console.log(table([['recording', 'sent', 'found', 'repaired', 'wrong', 'CPU s/s'], ...rows]))
  },
}
