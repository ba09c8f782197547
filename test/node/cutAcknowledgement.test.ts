import { describe, expect, it } from 'vitest'
import type { MessagePayload } from '../../src/aprs/types.js'
import { acknowledgements } from '../../src/node/acknowledgements.js'
import type { Heard } from '../../src/node/intake.js'
import type { FinalOutcome } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { QuestionRecord } from '../../src/store/questions.js'

const refused = { id: 'a', kind: 'refused', atMs: 0, reason: 'held by operator' } as const
const question = { id: 1, from: 'Q1ABC-7', number: '5', radio: 0 } as QuestionRecord
const heard = { via: [], frame: { radio: 0 } } as unknown as Heard
const payload = { kind: 'message', number: '5', text: 'help' } as MessagePayload

/** Whether a question counts as acknowledged when its acknowledgement ended in this way. */
function isAcknowledgedAfter(outcome: FinalOutcome): boolean {
  const responses = acknowledgements({
    clock: virtualClock(),
    options: defaultNodeOptions({ call: 'N0DE-10' }),
    transmitter: {
      send({ onEnd }: { onEnd?: (outcome: FinalOutcome) => void }) {
        onEnd?.(outcome)
        return () => {}
      },
    } as unknown as Parameters<typeof acknowledgements>[0]['transmitter'],
    pathTo: () => [],
  })
  responses.first(question, heard, payload, 'acknowledge')
  return responses.isAcknowledged(question)
}

// Found by the campaign, seed 403: a hold cut a transmission of many acknowledgements, of which the first had gone out.
describe('an acknowledgement in a transmission that was cut', () => {
  it('may have gone out: its sender is told when there is no answer', () => {
    expect(isAcknowledgedAfter({ ...refused, airtimeMs: 6_370 })).toBe(true)
  })

  it('one that never began to go out tells nobody', () => {
    expect(isAcknowledgedAfter(refused)).toBe(false)
  })
})
