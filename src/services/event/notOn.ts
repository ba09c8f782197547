import { inEnglish } from '../../words/air/all.js'
import type { Readiness } from '../service.js'

/** Of what is answered only during an event. */
export const notOn: Readiness = {
  state: 'empty',
  reason: inEnglish.say('eventNotOnReason'),
  text: 'eventNotOnReason',
}
