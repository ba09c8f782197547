// What both sides of a neighbour's book are tried on: one node, its neighbour, and entries of a third node.
import type { Refusals } from '../../../src/node/hills/book.js'
import type { NeighbourOptions } from '../../../src/node/hills/hillParts.js'
import type { HillRow } from '../../../src/store/hills.js'
import {
  type Bench,
  type BenchChange,
  bookOf,
  leaveMail,
  ledgerBench,
  letterOptions,
  peer,
} from './ledgerBench.js'

export function start(
  change: BenchChange & { neighbour?: Partial<NeighbourOptions> } = {},
  refusals: Refusals = new Map(),
) {
  const bench = ledgerBench({ letters: letterOptions, ...change })
  const ledger = bench.make()
  /** The neighbour heard it, and can be handed something for it. */
  const hearThere = (call = 'Q4RCV'): void => {
    ledger.known.take(peer, 'stations', `${call} 0`, bench.parts.clock.wallMs())
    ledger.routes.learn([peer], bench.clock.monotonicMs())
  }
  const leave = (questionId = 'q1', text = 'hello', from = 'Q3SND', to = 'Q4RCV'): void =>
    leaveMail(bench, questionId, { from, to, text })
  return { bench, ledger, book: bookOf(ledger, change.neighbour, refusals), hearThere, leave }
}

export const rowOf = (letter: string, change: Partial<HillRow> = {}): Omit<HillRow, 'id'> => ({
  ...{ entryId: `Q0FAR.ABCDEFGHJ${letter}`, kind: 'notice', from: 'Q3SND', to: '*', subject: '' },
  ...{ text: 'hello', writtenWallMs: 0, expiresWallMs: 0, expiryTrusted: true, trace: 'Q0FAR' },
  ...{ cameFrom: 'Q0FAR', state: 'here', peer: undefined, outcome: undefined, local: undefined },
  ...change,
})

export const put = (bench: Bench, ...rows: Omit<HillRow, 'id'>[]): void =>
  bench.durably(() => {
    for (const row of rows) bench.store.hills.insert(row)
  })
