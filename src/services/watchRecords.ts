import { isRecord } from '../runtime/isRecord.js'
import { parseCall } from './callWords.js'
import type { NamesView } from './event/namesView.js'
import { recordsIn } from './recordsIn.js'
import type { ServiceContext } from './service.js'

/** Where the node keeps whom it watches for; not an own service's keyword. */
export const watchRecords = '(watches)'

interface BootCount {
  /** of the boot that the clock counts from */
  readonly id: string
  readonly dueMs: number
  /** how far the wall clock was ahead of it; undefined where no source of time had confirmed that */
  readonly wallAheadMs?: number | undefined
}

/** A watch that somebody asked for. Its time is counted down, since a wall clock may be set at any moment. */
export interface Watch {
  /** of the question that set it */
  readonly id: string
  /** 'back': from is overdue when it is not heard; 'tell': from is told when call is heard */
  readonly kind: 'back' | 'tell'
  readonly from: string
  /** 'back': who is told; undefined for the operator alone. 'tell': whom it waits for */
  readonly call?: string | undefined
  /** the tactical name by which that was said: whoever holds it then is meant, and call where nobody does */
  readonly name?: string | undefined
  readonly totalMs: number
  /** as it was when it was written last: never less than what is left */
  readonly remainingMs: number
  /** the same end by the wall clock; undefined where no source of time has confirmed that */
  readonly dueWallMs?: number | undefined
  /** the same end by the monotonic clock of the machine */
  readonly boot?: BootCount | undefined
  /** the end as its asker was told */
  readonly dueText: string
}

/** Of all askers. */
export const watchesMax = 200
/** Who has been on the way for longer has moved on. */
export const backMsMax = 24 * 3_600_000
export const backMsMin = 10 * 60_000
const heardMsMax = 3_600_000

/** Being heard counts only toward the end: who was heard on the way out is not back. */
export const heardCountsMs = (totalMs: number): number => Math.min(heardMsMax, totalMs / 2)

export const watchKey = ({
  kind,
  from,
  call = '',
  name = call,
}: Pick<Watch, 'kind' | 'from' | 'call' | 'name'>): string =>
  kind === 'back' ? `back ${from}` : `tell ${from} ${name}`

/** Who is named by a word: a call sign, or a tactical name and who holds it now. */
export function namedBy(
  word: string,
  names: NamesView | undefined,
): Pick<Watch, 'call' | 'name'> | undefined {
  const name = names?.nameOf(word)
  const call = name === undefined ? parseCall(word) : names?.holder(name)
  return call === undefined ? undefined : { call, ...(name !== undefined && { name }) }
}

/** All that stand; what cannot be read is none. */
export const watchesIn = (all: ReadonlyMap<string, string>): Watch[] =>
  recordsIn(all, isWatch).map(([, watch]) => watch)

const isWatch = (watch: unknown): watch is Watch =>
  isRecord(watch) &&
  (watch.kind === 'back' || (watch.kind === 'tell' && typeof watch.call === 'string')) &&
  typeof watch.from === 'string' &&
  typeof watch.id === 'string' &&
  typeof watch.dueText === 'string' &&
  (watch.boot === undefined || isBootCount(watch.boot)) &&
  (watch.name === undefined || typeof watch.name === 'string') &&
  Number.isFinite(watch.totalMs) &&
  Number.isFinite(watch.remainingMs)

/** What a row may hold. */
export const watchKind = { expected: 'a watch', isOne: isWatch }

const isBootCount = (boot: unknown): boolean =>
  isRecord(boot) &&
  typeof boot.id === 'string' &&
  Number.isFinite(boot.dueMs) &&
  (boot.wallAheadMs === undefined || Number.isFinite(boot.wallAheadMs))

export const keepWatch = ({ storage }: Pick<ServiceContext, 'storage'>, watch: Watch): void =>
  storage.write(watchRecords, new Map([[watchKey(watch), JSON.stringify(watch)]]))

export const dropWatch = ({ storage }: Pick<ServiceContext, 'storage'>, watch: Watch): void =>
  storage.write(watchRecords, new Map([[watchKey(watch), undefined]]))
