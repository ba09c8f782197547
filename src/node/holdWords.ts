import { dutyReason, heldReason, type PortState } from '../radio/port.js'
import type { TextName } from '../words/air/texts.js'
import type { Wording } from '../words/air/wording.js'

/** By who or what holds; the reason, which may be somebody's own words, stands in the log. */
const texts: Readonly<Record<string, TextName & `heldBy${string}`>> = {
  operator: 'heldByOperator',
  'control operator': 'heldByRadio',
  file: 'heldByFile',
  input: 'heldByInput',
  'key line': 'heldByLine',
  'guard of the key line': 'heldByLine',
  'audio output': 'heldByAudio',
  modem: 'heldByModem',
  'program fault': 'heldByFault',
}

/** Who or what holds a radio, for the air. @param source of the hold */
export const holdWords = (source: string, { say }: Wording): string =>
  say(Object.hasOwn(texts, source) ? texts[source]! : 'heldBySomething')

/** Why a radio may not send, for the air; undefined where it may. */
export function blockedWords(
  { holds = [], transmitBlockedBy }: Pick<PortState, 'holds' | 'transmitBlockedBy'>,
  wording: Wording,
): string | undefined {
  const [first] = holds
  if (transmitBlockedBy === undefined) return undefined
  if (first !== undefined && transmitBlockedBy === heldReason(first))
    return holdWords(first.source, wording)
  return wording.say(transmitBlockedBy === dutyReason ? 'stateDutyFull' : 'stateNotSending')
}
