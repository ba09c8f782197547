import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { keptText } from '../services/airText.js'
import type { NoticesView, PostRefusal, Question } from '../services/service.js'
import type { NoticeRecord } from '../store/notices.js'
import type { Store } from '../store/store.js'
import { type Journal, referenceOfUniqueId } from './journal.js'
import { tooLongWith } from './mailRules.js'
import type { NoticeOptions } from './options.js'

const noDatabase = { ok: false, reason: 'out-of-order' } as const

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

  const refusalOf = ({ id, from }: Question, text: string): PostRefusal | undefined => {
    if (store.degraded) return noDatabase
    if (store.notices.hasQuestion(id)) return undefined
    // It also goes out as a bulletin, with its sender in front.
    const tooLong = tooLongWith(`${from}: ${text}`, text)
    if (tooLong !== undefined) return tooLong
    const standing = store.notices.current(expiryWallMs(), options.total)
    const own = standing.filter((notice) => notice.from === from)
    if (own.length >= options.perSender)
      return { ...full(own), reason: 'sender-quota', limit: options.perSender }
    return standing.length >= options.total
      ? { ...full(standing), reason: 'board-full', limit: options.total }
      : undefined
  }

  const full = (standing: readonly NoticeRecord[]) => {
    const nowMs = expiryWallMs()
    const ends = standing.flatMap((one) => (one.expiryTrusted ? one.expiresWallMs : []))
    const freeAfterMs =
      nowMs === undefined || ends.length === 0 ? undefined : Math.min(...ends) - nowMs
    return { ok: false, freeAfterMs } as const
  }

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
      const refusal = store.reading('the notices', noDatabase, () => refusalOf(question, text))
      if (refusal?.reason === 'out-of-order') return outOfOrder()
      if (refusal !== undefined) return refusal
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
      return { ok: true, keptMs: options.keepMs }
    },
  }
}
