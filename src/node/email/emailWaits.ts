import type { Clock } from '../../runtime/clock.js'

/** When mail is tried again: each mail for itself, and all of them while there is no link. Each wait is twice as long as the last. */
export interface EmailWaits {
  /** all mails may be tried, as far as the link goes */
  isLinkDue(): boolean
  isDue(id: number): boolean
  /** @returns how long, ms */
  waitForLink(): number
  /** @returns how long, ms */
  wait(id: number): number
  linkIsThere(): void
  forget(id: number): void
  /** monotonic; Infinity for never */
  nextMs(): number
}

interface Wait {
  readonly untilMs: number
  readonly lengthMs: number
}

export function emailWaits(
  clock: Clock,
  { retryMs, retryMaxMs }: { readonly retryMs: number; readonly retryMaxMs: number },
): EmailWaits {
  const waits = new Map<number, Wait>()
  let link: Wait | undefined

  const longer = (wait: Wait | undefined): Wait => {
    const lengthMs = Math.min(retryMaxMs, wait === undefined ? retryMs : 2 * wait.lengthMs)
    return { untilMs: clock.monotonicMs() + lengthMs, lengthMs }
  }
  const isOver = (wait: Wait | undefined): boolean =>
    wait === undefined || clock.monotonicMs() >= wait.untilMs

  return {
    isLinkDue: () => isOver(link),
    isDue: (id) => isOver(waits.get(id)),
    waitForLink() {
      link = longer(link)
      return link.lengthMs
    },
    wait(id) {
      const wait = longer(waits.get(id))
      waits.set(id, wait)
      return wait.lengthMs
    },
    linkIsThere() {
      link = undefined
    },
    forget(id) {
      waits.delete(id)
    },
    nextMs: () => {
      const times = [...waits.values(), ...(link === undefined ? [] : [link])]
      // What is over and was not tried waits for the link.
      return Math.min(
        ...times.map(({ untilMs }) => untilMs).filter((ms) => ms > clock.monotonicMs()),
      )
    },
  }
}
