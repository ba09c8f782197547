// Graded recordings, from easy to hopeless: NAME.wav with NAME.json beside it, which lists the frames that are in there
// (`frames[].hex`, without FCS). How many does the receiver find, and does it ever print one that is not there?
import { join } from 'node:path'
import type { RepairLevel } from '../../dsp/modem/receivedFrame.js'
import type { Bench } from './bench.js'
import { namesIn, readTruth, type Score, scoreOf } from './graded.js'
import { noPeer, type PeerReception, peerReceptions } from './peer.js'
import { table } from './receiveFile.js'

/**
 * Frames found of 50 by others in the ten conditions of the set of seed 11: two textbook receivers (A: correlators, well
 * made; B: stock blocks of a compiled DSP toolkit) and a research prototype of sequence detection, as the study that came
 * with the recordings gives them. Printed for orientation where a condition has the same name.
 */
const figuresOfTheStudy: Readonly<Record<string, readonly [number, number, number]>> = {
  awgn: [30, 31, 41],
  twist_plus: [21, 19, 39],
  twist_minus: [20, 20, 36],
  flat_fm: [32, 32, 42],
  speaker_fm: [28, 27, 38],
  fading_fm: [5, 8, 19],
  offset: [30, 31, 41],
  lowrate: [27, 28, 41],
  hot: [28, 29, 39],
  burst: [27, 29, 42],
}

export const bench: Bench = {
  name: 'ladders',
  about: 'frames found in graded recordings (--ladders FOLDER), beside the figures of others',
  async run({ ladders }) {
    if (ladders === undefined) {
      console.log('skipped: give a folder of graded recordings with --ladders FOLDER')
      return
    }
    const names = namesIn(ladders)
    const byRepair = (['none', 'careful', 'eager'] as const).map((repair) => ({
      repair,
      rungs: names.map((name) => scoreOf(ladders, name, repair)),
    }))
    for (const { repair, rungs } of byRepair) report(repair, rungs)
    reportPeers(ladders, names)
  },
}

function report(repair: RepairLevel, rungs: readonly Score[]): void {
  const sum = (of: (rung: Score) => number): number =>
    rungs.reduce((total, rung) => total + of(rung), 0)
  const known = rungs.map((rung) => figuresOfTheStudy[rung.name])
  const total = (column: 0 | 1 | 2): number | string =>
    known.every((figures) => figures !== undefined)
      ? known.reduce((all, figures) => all + figures[column], 0)
      : ''
  const rows = rungs.map((rung, index) => [
    rung.name,
    rung.sent,
    rung.found,
    rung.repaired,
    rung.wrong,
    rung.doubled,
    ...(known[index] ?? ['', '', '']),
    (rung.cpuS / rung.audioS).toFixed(4),
  ])
  console.log(`--repair ${repair}`)
  console.log(
    table([
      [
        'condition',
        'sent',
        'found',
        'repaired',
        'wrong',
        'doubled',
        'peer A',
        'peer B',
        'prototype',
        'CPU s/s',
      ],
      ...rows,
      [
        'all',
        sum((rung) => rung.sent),
        sum((rung) => rung.found),
        sum((rung) => rung.repaired),
        sum((rung) => rung.wrong),
        sum((rung) => rung.doubled),
        total(0),
        total(1),
        total(2),
        (sum((rung) => rung.cpuS) / sum((rung) => rung.audioS)).toFixed(4),
      ],
    ]),
  )
  console.log('')
}

/** The same recordings through compiled stock blocks, in the same call. */
function reportPeers(folder: string, names: readonly string[]): void {
  const files = names.map((name) => join(folder, `${name}.wav`))
  const rows = (['plain', 'lean'] as const).flatMap((kind) => {
    const receptions = peerReceptions(kind, files)
    if (receptions.length === 0) return []
    const found = receptions.map(({ frames }, index) => {
      const heard = new Set(frames)
      return readTruth(folder, names[index]!).filter(({ hex }) => heard.has(hex)).length
    })
    const sum = (of: (reception: PeerReception) => number): number =>
      receptions.reduce((total, reception) => total + of(reception), 0)
    return [
      [
        `GNU Radio blocks, ${kind} chain`,
        ...found,
        found.reduce((total, count) => total + count, 0),
        (sum(({ cpuS }) => cpuS) / sum(({ audioS }) => audioS)).toFixed(4),
      ],
    ]
  })
  console.log(rows.length === 0 ? noPeer : table([['', ...names, 'all', 'CPU s/s'], ...rows]))
}
