/** A transaction that stays open between calls, so that a card gets a page once that many of them change. */
export interface OpenTransaction {
  /** In it; begins one where none is open. @param onEnd told whether it was kept, or undone */
  run<Value>(work: () => Value, onEnd: (kept: boolean) => void): Value
  readonly isOpen: boolean
  /** Commits it, where one is open. */
  commit(): void
  /** The connection that it belonged to is closed. */
  abandon(): void
}

export interface OpenTransactionParts {
  readonly begin: () => void
  readonly commit: () => void
  readonly rollBack: () => void
  /** what was put into a file that was replaced meanwhile is not kept */
  readonly isReplaced: () => boolean
}

export function openTransaction(parts: OpenTransactionParts): OpenTransaction {
  /** undefined while none is open */
  let onOpenEnd: ((kept: boolean) => void) | undefined

  const end = (keep: boolean): void => {
    const onEnd = onOpenEnd
    if (onEnd === undefined) return
    onOpenEnd = undefined
    let kept = false
    try {
      if (keep && !parts.isReplaced()) {
        parts.commit()
        kept = true
      }
    } finally {
      if (!kept) parts.rollBack()
      onEnd(kept)
    }
  }

  return {
    run(work, onEnd) {
      if (onOpenEnd === undefined) parts.begin()
      onOpenEnd = onEnd
      try {
        return work()
      } catch (error) {
        end(false)
        throw error
      }
    },
    get isOpen() {
      return onOpenEnd !== undefined
    },
    commit: () => end(true),
    abandon() {
      const onEnd = onOpenEnd
      onOpenEnd = undefined
      onEnd?.(false)
    },
  }
}
