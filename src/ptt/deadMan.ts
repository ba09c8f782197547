import { createReopening, type Waits } from '../devices/reopening.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { EdgeLog } from './edgeLog.js'
import type { HelperWord } from './helperProtocol.js'
import type { PttOutput } from './pttOutput.js'

export interface DeadManOptions {
  readonly output: PttOutput
  readonly clock: Clock
  readonly log?: EdgeLog | undefined
  /** the line is released when no sign of life came for that long */
  readonly feedLimitMs: number
  /** and when it has been on for that long, whoever still feeds */
  readonly keyedMsMax: number
  /** calls back once everything that has arrived by now has been handed in */
  readonly afterPending: (run: () => void) => void
  readonly tell: (word: HelperWord) => void
}

/** Owns a key line for somebody who may die. */
export interface DeadMan {
  /** @param cutsKnown how often its owner knows that the line was cut; it is refused to one that has not heard the last time */
  key(cutsKnown: number): void
  unkey(): void
  feed(): void
  /** Releases the line for good; settles when it is off, or cannot be switched off. */
  end(reason: string): Promise<void>
}

/** A line that would not go off is tried again after that long, doubled each time up to the limit. */
const unkeyAgainMs: Waits = { first: 50, longest: 2000 }
/** After that many tries at the end there is nothing left to try. */
const endTriesMax = 20

/**
 * Keys while it is fed: releases the line when the feed stops, when it is on for too long, or at the end.
 * Whoever feeds must do so well within feedLimitMs; releasing adds what the output takes.
 */
export function createDeadMan(options: DeadManOptions): DeadMan {
  const { clock, log, output, tell } = options
  let wanted = false
  let on = false
  let ended = false
  let turn = 0
  let toldFault = ''
  let cutCount = 0

  const fault = (error: unknown): void => {
    const reason = errorText(error)
    if (reason !== toldFault) tell({ word: 'fault', reason })
    toldFault = reason
  }

  /** @param cutBy why, unless its owner wants it */
  const release = async (cutBy?: string): Promise<boolean> => {
    wanted = false
    const mine = ++turn
    watch.stop()
    unkeyAgain.cancel()
    try {
      await output.unkey()
    } catch (error) {
      fault(error)
      if (mine === turn && !ended) {
        failedCutBy = cutBy
        unkeyAgain.later()
      }
      return false
    }
    unkeyAgain.sound()
    toldFault = ''
    const atMs = clock.monotonicMs()
    if (on) log?.write('unkeyed', cutBy)
    on = false
    if (cutBy === undefined) tell({ word: 'unkeyed', atMs, cutCount })
    else tell({ word: 'cut', atMs, reason: cutBy, cutCount })
    return true
  }

  let failedCutBy: string | undefined
  const unkeyAgain = createReopening(clock, unkeyAgainMs, () => void release(failedCutBy))

  const cut = (reason: string): Promise<boolean> => {
    cutCount++
    return release(reason)
  }

  const watch = keyedWatch(options, (reason) => void cut(reason))

  return {
    key(cutsKnown) {
      // Who asks must not wait for a line that will not come on.
      if (ended) return tell({ word: 'refused', reason: 'the helper has ended' })
      if (cutsKnown !== cutCount)
        return tell({ word: 'refused', reason: 'the line was cut, and you may not know it yet' })
      if (wanted) return
      wanted = true
      const mine = ++turn
      watch.begin()
      void (async () => {
        try {
          // The line may come on at any moment from here: an edge that is not told is still undone.
          on = true
          await output.key()
          if (mine !== turn) return
          log?.write('keyed')
          tell({ word: 'keyed', atMs: clock.monotonicMs() })
        } catch (error) {
          fault(error)
          if (mine === turn) void cut('it could not be switched on')
        }
      })()
    },
    unkey() {
      void release()
    },
    feed: watch.feed,
    async end(reason) {
      if (ended) return
      ended = true
      cutCount++
      for (let tries = 0; tries < endTriesMax && !(await release(reason)); tries++) {
        await pause(clock, unkeyAgainMs.first)
      }
    },
  }
}

/** Looks after one time that the line is on. */
interface KeyedWatch {
  begin(): void
  feed(): void
  stop(): void
}

function keyedWatch(
  { clock, feedLimitMs, keyedMsMax, afterPending }: DeadManOptions,
  cut: (reason: string) => void,
): KeyedWatch {
  let fedAtMs = 0
  let turn = 0
  let cancels: Cancel[] = []

  const watchFeed = (mine: number): void => {
    cancels.push(
      clock.at(fedAtMs + feedLimitMs, () => {
        // If this process itself was held up, the signs of life are waiting in the pipe: take them in before judging.
        afterPending(() => {
          if (mine !== turn) return
          if (clock.monotonicMs() - fedAtMs < feedLimitMs) watchFeed(mine)
          else cut(`no sign of life for ${feedLimitMs} ms`)
        })
      }),
    )
  }
  return {
    begin() {
      fedAtMs = clock.monotonicMs()
      watchFeed(++turn)
      cancels.push(
        clock.at(fedAtMs + keyedMsMax, () => cut(`on for ${keyedMsMax} ms, the most allowed`)),
      )
    },
    feed() {
      fedAtMs = clock.monotonicMs()
    },
    stop() {
      turn++
      for (const cancel of cancels) cancel()
      cancels = []
    },
  }
}

const pause = (clock: Clock, ms: number): Promise<void> =>
  new Promise((resolve) => void clock.at(clock.monotonicMs() + ms, resolve))
