import type { Clock } from '../../src/runtime/clock.js'
import type { VirtualClock } from '../../src/runtime/virtualClock.js'

/** The world's clocks: the monotonic one is the simulation's, the wall clock can be set. */
export interface WorldClock extends Clock {
  setWallBy(ms: number): void
  readonly wallSetAtMs: number
}

export function worldClock(clock: VirtualClock): WorldClock {
  let offsetMs = 0
  let setAtMs = Number.NEGATIVE_INFINITY
  return {
    monotonicMs: () => clock.monotonicMs(),
    wallMs: () => clock.wallMs() + offsetMs,
    at: (atMs, run) => clock.at(atMs, run),
    setWallBy(ms) {
      offsetMs += ms
      setAtMs = clock.monotonicMs()
    },
    get wallSetAtMs() {
      return setAtMs
    },
  }
}

/**
 * A thread of a process: once it is dead nothing of it runs any more, and while it is stalled (by a slow disk) everything
 * waits.
 */
export class Thread {
  dead = false
  private stalledUntilMs = 0

  constructor(
    private readonly world: Clock,
    /** told what was thrown out of a timer or a message, where no guard caught it */
    private readonly onThrown: (error: unknown) => void,
  ) {}

  readonly clock: Clock = {
    monotonicMs: () => Math.max(this.world.monotonicMs(), this.stalledUntilMs),
    wallMs: () => this.world.wallMs() + Math.max(0, this.stalledUntilMs - this.world.monotonicMs()),
    at: (atMs, run) => {
      let cancelled = false
      this.world.at(atMs, () =>
        this.run(() => {
          if (!cancelled) run()
        }),
      )
      return () => {
        cancelled = true
      }
    },
  }

  stall(ms: number): void {
    this.stalledUntilMs = this.clock.monotonicMs() + ms
  }

  /** Something comes from another thread: it is dealt with now, or when the stall is over. */
  run(what: () => void): void {
    if (this.dead) return
    if (this.world.monotonicMs() < this.stalledUntilMs) {
      this.world.at(this.stalledUntilMs, () => this.run(what))
      return
    }
    try {
      what()
    } catch (error) {
      this.onThrown(error)
    }
  }

  /** Something goes to another thread: not before this one had come to it. */
  tell(what: () => void): void {
    if (this.dead) return
    if (this.world.monotonicMs() >= this.stalledUntilMs) what()
    else
      this.world.at(this.stalledUntilMs, () => {
        if (!this.dead) what()
      })
  }
}
