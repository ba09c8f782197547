import type { Clock } from '../../src/runtime/clock.js'
import type { Answer, Service } from '../../src/services/service.js'
import { sayService } from '../../src/simulation/sayService.js'

/** What the services that misbehave do just now. */
export interface Misbehaviour {
  throws: boolean
  hangs: boolean
  grows: boolean
}

const later = (answer: Answer | Promise<Answer>, ms: number, clock: Clock): Promise<Answer> =>
  new Promise((resolve) => {
    clock.at(clock.monotonicMs() + ms, () => resolve(answer))
  })

/** A service that says again what it is told, by which the oracle knows whose answer is whose, and that goes wrong on demand. */
export function ownServices(now: Misbehaviour, clock: Clock): Service[] {
  return [
    {
      ...sayService,
      answer(question, context) {
        if (now.throws) throw new Error('told to throw')
        if (now.hangs) return new Promise(() => {})
        const said = sayService.answer(question, context)
        // Every third answer takes a while; where the channel is free, its question is acknowledged long before.
        if (!now.grows)
          return question.text.length % 3 === 0
            ? later(said, 500 + (question.id.charCodeAt(0) % 8) * 2_500, clock)
            : said
        return [
          ...(said as string[]),
          ...Array.from({ length: 300 }, (_, n) => `grows ${n} `.repeat(60)),
        ]
      },
    },
  ]
}
