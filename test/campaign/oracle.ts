/** DESIGN.md's promises, and what else must hold, as they are checked here. */
export const promiseNames = [
  'nothing ends the process',
  'never keyed past the time-out timer',
  'never keyed beyond the duty limit',
  'never keyed while the channel is busy',
  'never keyed while it is held or deaf',
  'never sent past its time',
  'identified within ten minutes, and at the end',
  'what is sent is well formed',
  'no unusable way back',
  'each request ends once',
  'in the database before it is acknowledged',
  'what was acknowledged survives',
  'who is acknowledged is answered or refused',
  'answered once',
  'heard again, acknowledged again',
  'each letter is carried under one number',
  'a letter that was taken is kept',
  'delivered only when it was acknowledged',
  'nothing expires on a clock that is not trusted',
  'what clients had sent is on record',
  'a frame with two repaired bits is not acted on',
  'machines fall silent',
  'queues are bounded',
  'a stranger is answered within two minutes',
  "the control operator's hold survives",
  'a call for help is answered at once',
  'one answer to the calls of a station',
  'a call for help is never relayed',
  'what is read over a connection is whole',
] as const
export type PromiseName = (typeof promiseNames)[number]

export interface Broken {
  readonly promise: PromiseName
  readonly atMs: number
  readonly detail: string
}

/** Counts what was checked, and keeps what did not hold. */
export class Oracle {
  readonly checked: Record<PromiseName, number> = Object.fromEntries(
    promiseNames.map((name) => [name, 0]),
  ) as Record<PromiseName, number>
  readonly broken: Broken[] = []

  constructor(private readonly nowMs: () => number) {}

  check(promise: PromiseName, holds: boolean, detail: () => string): void {
    this.checked[promise]++
    if (!holds) this.broken.push({ promise, atMs: this.nowMs(), detail: detail() })
  }
}
