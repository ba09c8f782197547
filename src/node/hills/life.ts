import type { HillParts } from './hillParts.js'
import { characters } from './ids.js'

/**
 * The life of this database. A copy that is put in its place is an older one: what it holds as waiting may have been delivered since,
 * and what came since is gone. The number of its steps is kept in the database and beside it, so that this is noticed.
 */
export interface Life {
  readonly epoch: string
  /** Inside a transaction that changes who keeps what. */
  step(): void
  /** Once that is on the disk. */
  settle(): void
  /** Inside a transaction: another life begins. */
  beginAnew(): void
  /** the database is older than what has been lived */
  readonly isOlder: boolean
}

const ownRow = '0'

/** @param named what no other life is named by: a random id */
export function life({ store, lifeMark }: HillParts, named: () => string): Life {
  const row = () => store.hills.peer(ownRow)
  const mark = lifeMark?.read()
  const before = store.reading('the life of the database', undefined, row)
  let epoch = before?.epoch ?? ''
  let count = before?.count ?? 0
  const isOlder =
    mark !== undefined && (before === undefined || before.epoch !== mark.epoch || count < mark.step)

  const keep = (): void => store.hills.setPeer({ call: ownRow, epoch, count, confirmed: 0 })
  const beginAnew = (): void => {
    epoch = characters(8, 'epoch', named())
    count = 1
    keep()
  }
  if (before === undefined && !isOlder) store.durably('the life of the database', beginAnew)

  return {
    isOlder,
    get epoch() {
      return epoch
    },
    step() {
      count++
      keep()
    },
    settle: () => lifeMark?.write({ epoch, step: count }),
    beginAnew,
  }
}
