import { fitsMessage } from '../aprs/messageText.js'
import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { keptText } from '../services/airText.js'
import type { NoticesView } from '../services/service.js'
import type { Store } from '../store/store.js'
import { type Journal, referenceOfUniqueId } from './journal.js'
import type { NoticeOptions } from './options.js'

/** Notices that people post for everybody. */
export function board(parts: {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly options: NoticeOptions
}): NoticesView {
  const { clock, clockTrust, store, options } = parts
  const expiryWallMs = (): number | undefined => (clockTrust.trusted() ? clock.wallMs() : undefined)
  return {
    recent: (count) =>
      store.reading('the notices', [], () => store.notices.current(expiryWallMs(), count)),
    post(question, sentText) {
      const text = keptText(sentText)
      const wallMs = clock.wallMs()
      const reference = referenceOfUniqueId(question.id)
      const outOfOrder = () => {
        const reason = 'its database cannot be used: nothing is posted until it can'
        parts.note('fault', 'the board', { station: question.from, reference, reason })
        return { ok: false, reason: 'out-of-order' } as const
      }
      const refusal = store.reading('the notices', 'out-of-order' as const, () => {
        if (store.degraded) return 'out-of-order'
        if (store.notices.hasQuestion(question.id)) return undefined
        // It also goes out as a bulletin, with its sender in front.
        if (!fitsMessage(`${question.from}: ${text}`)) return 'too-long'
        const own = store.notices.countFrom(question.from, expiryWallMs())
        const all = store.notices.current(expiryWallMs(), options.total).length
        return own >= options.perSender || all >= options.total ? 'quota' : undefined
      })
      if (refusal === 'out-of-order') return outOfOrder()
      if (refusal !== undefined) return { ok: false, reason: refusal }
      const kept = store.durably('a notice', () => {
        if (store.notices.hasQuestion(question.id)) return false
        store.notices.insert({
          questionId: question.id,
          from: question.from,
          text,
          postedWallMs: wallMs,
          expiresWallMs: wallMs + options.keepMs,
          expiryTrusted: clockTrust.trusted(),
        })
        return true
      })
      if (!kept.ok) return outOfOrder()
      if (kept.value) {
        parts.note('posted', text, { station: question.from, reference })
      }
      return { ok: true }
    },
  }
}
