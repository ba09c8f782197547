import type { LeftForSeveral, Service } from '../service.js'
import { wordingOf } from '../wordingOf.js'
import type { NamesView } from './namesView.js'
import { notOn } from './notOn.js'

export interface ConfirmedOptions {
  readonly names: NamesView
  readonly isOn: () => boolean
}

/** The beginning of a text: enough to know it by. */
const shownCharacters = 16

/** `confirmed`: of the text that the asker left last for several, who has it, who not yet. */
export function confirmedService({ names, isOn }: ConfirmedOptions): Service {
  return {
    keyword: 'confirmed',
    summary: 'Who has got the last text that you left for several',
    usage: 'confirmed',
    messagesMax: () => 5,
    ready: () => (isOn() ? { state: 'ready' } : notOn),
    answer({ from }, context) {
      const wording = wordingOf(context)
      const { say } = wording
      const last = context.mailbox.leftForSeveral?.(from)
      if (last === undefined) return say('eventNothingSent')
      const of = (...states: LeftForSeveral['receivers'][number]['state'][]): string[] =>
        last.receivers.filter(({ state }) => states.includes(state)).map(({ to }) => to)
      const sent = last.text.startsWith(names.mark) ? last.text.slice(names.mark.length) : last.text
      const text = sent.length > shownCharacters ? `${sent.slice(0, shownCharacters)}..` : sent
      const open = of('waiting', 'sending', 'passed on')
      const refused = of('refused', 'expired')
      const parts = [
        say('eventConfirmed', {
          count: of('delivered').length,
          total: last.receivers.length,
          text,
        }),
      ]
      if (open.length > 0) parts.push(say('eventOpen', { names: open.join(' ') }))
      if (refused.length > 0) parts.push(say('eventRefused', { names: refused.join(' ') }))
      const back = of('withdrawn')
      if (back.length > 0) parts.push(say('eventWithdrawn', { names: back.join(' ') }))
      return `${names.markIn(wording)}${parts.join('. ')}`
    },
  }
}
