// Are the causes of lost frames named right? Recordings whose cause is known, made anew for each seed; the limits in
// dsp/causes were found on seeds below 100,000.
import type { Cause } from '../../dsp/causes/causes.js'
import { seededRandom } from '../../src/runtime/random.js'
import {
  type KnownCause,
  knownCauses,
  type LostRecording,
  lostFrame,
  pairOf,
} from '../channel/lostFrames.js'
import type { Bench } from './bench.js'
import { table } from './receiveFile.js'

export const bench: Bench = {
  name: 'causes',
  about: 'why frames were lost: named right, and blamed on what was not there',
  async run({ seed, quick }) {
    const each = quick ? 10 : 40
    const first = 100_000 + 1000 * seed
    const rows = knownCauses.map((cause) => tally(cause, each, (n) => [[cause], first + n]))
    const pairs = tally('two at once', each, (n) => [pairOf(seededRandom(first + n)), first + n])
    console.log(
      `seeds from ${first} on; ${each} recordings a row, of two causes both must be named\n`,
    )
    const cells = ({ name, all, right, partly, blamed, others }: Row) => [
      ...[name, all, right, partly, blamed],
      [...others].map(([other, count]) => `${other} ${count}`).join(', '),
    ]
    const sum = (of: (row: Row) => number): number =>
      rows.reduce((total, row) => total + of(row), 0)
    console.log(
      table([
        ['cause', 'recordings', 'named', 'one named', 'blamed', 'named in its place or besides'],
        ...rows.map(cells),
        [
          ...['all single ones', sum(({ all }) => all), sum(({ right }) => right)],
          ...[sum(({ partly }) => partly), sum(({ blamed }) => blamed), ''],
        ],
        cells(pairs),
      ]),
    )
  },
}

interface Row {
  readonly name: string
  all: number
  /** every cause that was there was named */
  right: number
  /** one of them at least */
  partly: number
  /** something was named that was not there */
  blamed: number
  readonly others: Map<string, number>
}

function tally(
  name: string,
  count: number,
  make: (n: number) => [readonly KnownCause[], number],
): Row {
  const row: Row = { name, ...{ all: 0, right: 0, partly: 0, blamed: 0 }, others: new Map() }
  for (let n = 0; n < count; n++) {
    const [causes, seed] = make(n)
    note(row, lostFrame(causes, seededRandom(seed)))
  }
  return row
}

function note(row: Row, { causes, told }: LostRecording): void {
  const named = told.causes.map(nameOf)
  const others = named.filter((name) => !causes.some((cause) => cause === name))
  row.all++
  if (causes.every((cause) => named.includes(cause))) row.right++
  if (causes.some((cause) => named.includes(cause))) row.partly++
  if (others.length > 0) row.blamed++
  for (const other of others) row.others.set(other, (row.others.get(other) ?? 0) + 1)
}

const nameOf = (cause: Cause): string =>
  cause.kind === 'hum' ? (cause.hz === 50 ? 'hum 50' : 'hum 60') : cause.kind
