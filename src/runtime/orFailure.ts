import { errorText } from './errorText.js'
import { Failure } from './failure.js'

/** What `run` gives. @throws Failure 'SUBJECT: cannot be read: no such file; ADVICE' for whatever it throws */
export function orFailure<Value>(
  about: {
    readonly code: string
    readonly subject: string
    readonly cannotBe: 'opened' | 'read' | 'written'
    readonly advice?: string
  },
  run: () => Value,
): Value {
  try {
    return run()
  } catch (cause) {
    const { cannotBe, ...detail } = about
    throw new Failure({ ...detail, problem: `cannot be ${cannotBe}: ${errorText(cause)}`, cause })
  }
}
