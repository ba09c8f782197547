import type { Cancel } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { Beacons } from './beacons.js'
import type { Heard } from './intake.js'
import type { WordingFor } from './nodeWording.js'
import { type NumberedQueryParts, numberedMessage, numberedQueries } from './numberedQueries.js'
import type { QueryReply } from './queries.js'
import { queryReplies } from './queryReplies.js'
import { rateLimit } from './rateLimit.js'

/** Stations wait a random time before they answer a query to everybody, or they would all answer at once. */
const generalWaitMs = { least: 5_000, more: 55_000 }
const generalRepliesMax = 2

/** Does what the reference's queries ask for. */
export interface QueryAnswers {
  /** @returns why nothing is answered */
  answer(heard: Heard, replies: readonly QueryReply[]): string | undefined
  stop(): void
}

export interface QueryAnswerParts extends Omit<NumberedQueryParts, 'replies'> {
  readonly random: Random
  readonly beacons: Beacons
  readonly wording: WordingFor
}

export function queryAnswers(parts: QueryAnswerParts): QueryAnswers {
  const { clock, options } = parts
  const sent = queryReplies(parts)
  const numbered = numberedQueries({ ...parts, replies: sent })
  const limit = rateLimit(options.limits.windowMs)
  const waiting = new Set<Cancel>()

  const later = (run: () => void): void => {
    const atMs = clock.monotonicMs() + generalWaitMs.least + generalWaitMs.more * parts.random()
    const cancel = clock.at(atMs, () => {
      waiting.delete(cancel)
      run()
    })
    waiting.add(cancel)
  }

  const overLimit = (heard: Heard): string | undefined => {
    const general = heard.payload.kind === 'query'
    const [name, most] = general ? ['', generalRepliesMax] : [heard.from, options.limits.perStation]
    const nowMs = clock.monotonicMs()
    const isOver = limit.count(name, nowMs) >= most
    // Of queries to everybody only what is answered counts: one station that goes on asking would else silence us for all.
    if (!isOver || !general) limit.note(name, nowMs)
    return isOver ? 'rate limit of queries' : undefined
  }

  return {
    answer(heard, replies) {
      const { payload } = heard
      const asked = payload.kind === 'directedQuery' ? numberedMessage(payload) : undefined
      if (asked !== undefined)
        return numbered.answer(heard, asked, replies[0]!, () => overLimit(heard))
      const refusal = overLimit(heard)
      if (refusal !== undefined) return refusal
      let reason: string | undefined
      for (const reply of replies) {
        if (reply.kind === 'none') reason = reply.reason
        else if (payload.kind === 'query') later(() => sent.send(reply, heard))
        else sent.send(reply, heard)
      }
      return reason
    },
    stop() {
      numbered.stop()
      for (const cancel of waiting) cancel()
      waiting.clear()
    },
  }
}
