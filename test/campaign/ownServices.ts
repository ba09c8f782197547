import type { Service } from '../../src/services/service.js'
import { sayService } from '../../src/simulation/sayService.js'

/** What the services that misbehave do just now. */
export interface Misbehaviour {
  throws: boolean
  hangs: boolean
  grows: boolean
}

/** A service that says again what it is told, by which the oracle knows whose answer is whose, and that goes wrong on demand. */
export function ownServices(now: Misbehaviour): Service[] {
  return [
    {
      ...sayService,
      answer(question, context) {
        if (now.throws) throw new Error('told to throw')
        if (now.hangs) return new Promise(() => {})
        const said = sayService.answer(question, context)
        if (!now.grows) return said
        return [
          ...(said as string[]),
          ...Array.from({ length: 300 }, (_, n) => `grows ${n} `.repeat(60)),
        ]
      },
    },
  ]
}
