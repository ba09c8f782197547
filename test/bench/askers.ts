import { type AskersOptions, runAskers } from '../simulation/askers.js'
import type { Bench } from './bench.js'

const minuteMs = 60_000

/** What a node at 20 % duty does for 10 to 3,000 askers, none of whom acknowledges or repeats; 25 minutes to send. */
export const bench: Bench = {
  name: 'askers',
  about: '10 to 3,000 people who ask at once: who is acknowledged, who is answered, what is sent',
  async run({ seed, quick }) {
    const counts = quick ? [10, 60, 300, 1_000] : [10, 30, 60, 100, 300, 1_000, 3_000]
    for (const withinMs of [minuteMs, 10 * minuteMs]) {
      console.log(`\nwithin ${withinMs / minuteMs} min`)
      console.log('askers  acknowledged  within 60 s  answered  left  frames  useful %  airtime s')
      for (const askerCount of counts) {
        const result = await runAskers({ seed, askerCount, withinMs, lastsMs: 25 * minuteMs })
        const waits = result.askings.flatMap(({ askedMs, acknowledgedMs }) =>
          acknowledgedMs === undefined ? [] : [acknowledgedMs - askedMs],
        )
        const cells: [number, number][] = [
          [askerCount, 6],
          [waits.length, 14],
          [waits.filter((waitMs) => waitMs <= minuteMs).length, 13],
          [result.wholeCount, 10],
          [result.left.length, 6],
          [result.frameCount, 8],
          [Math.round(100 * result.usefulShare), 10],
          [Math.round(result.keyedMs / 1000), 11],
        ]
        console.log(cells.map(([value, width]) => String(value).padStart(width)).join(''))
      }
    }
    if (!quick) await manySeeds()
  },
}

/** Of one station's questions; nobody reaches it here. */
const withoutLimit = { limits: { perStation: 1_000_000 } }

/** What is demanded must hold on every afternoon, with the limit of questions a station as without it. */
async function manySeeds(): Promise<void> {
  for (const limited of [true, false]) {
    console.log(`\nlimit of questions a station: ${limited ? 'on' : 'off'}`)
    await crowds(limited ? {} : { nodeOptions: withoutLimit })
  }
}

async function crowds(options: Pick<AskersOptions, 'nodeOptions'>): Promise<void> {
  for (const [askerCount, withinMs] of [
    [300, 10 * minuteMs],
    [1_000, minuteMs],
  ] as const) {
    const counts: number[] = []
    let usefulMin = 1
    for (let seed = 1; seed <= 20; seed++) {
      const result = await runAskers({
        ...{ ...options, seed, askerCount, withinMs },
        lastsMs: 25 * minuteMs,
      })
      counts.push(result.wholeCount)
      usefulMin = Math.min(usefulMin, result.usefulShare)
    }
    console.log(
      `\n${askerCount} within ${withinMs / minuteMs} min, seeds 1 to 20, answered: ${counts.join(' ')}; ` +
        `at least ${Math.min(...counts)}, useful at least ${Math.round(100 * usefulMin)} %`,
    )
  }
}
