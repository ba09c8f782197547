/** How often something came to nothing, and why. */
export interface Ending {
  /** 'given up', 'refused' and the like */
  readonly what: string
  readonly reason: string
  readonly count: number
}

/** Counts endings by what they were and why; figures in a reason do not make it another one. */
export interface Tally {
  note(what: string, reason: string | undefined): void
  /** most frequent first */
  readonly endings: readonly Ending[]
}

/** @param kindsMax different endings that are told apart; what comes later counts as 'other reasons' */
export function tally(kindsMax = 50): Tally {
  const counts = new Map<string, { what: string; reason: string; count: number }>()
  const entryOf = (what: string, reason: string) => {
    const key = `${what}: ${reason}`
    const known = counts.get(key)
    if (known !== undefined) return known
    const entry = { what, reason, count: 0 }
    counts.set(key, entry)
    return entry
  }
  return {
    note(what, reason = '') {
      const general = reason.replace(/\d+/g, 'N')
      const isKnown = counts.has(`${what}: ${general}`)
      entryOf(what, isKnown || counts.size < kindsMax ? general : 'other reasons').count++
    },
    get endings() {
      return [...counts.values()].sort((a, b) => b.count - a.count)
    },
  }
}
