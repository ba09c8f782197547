/** As near as an eye can tell, ms. */
export const nearMs = 40

/** Between two limits, ms; toMs is Infinity where it never went off. */
export interface HangFound {
  readonly fromMs: number
  readonly toMs: number
}

/** Where the search stands: the silence to try next, between what is known so far, ms. */
export interface HangSearch extends HangFound {
  readonly gapMs: number
  readonly gapMsMax: number
}

/** Begins with the longest silence: where the radio stays on in that, nothing can be measured. */
export const beginHangSearch = (gapMsMax: number): HangSearch => ({
  fromMs: 0,
  toMs: gapMsMax,
  gapMs: gapMsMax,
  gapMsMax,
})

/**
 * Halves what is left after each look.
 * @param wentOff whether the radio went off in the silence of gapMs
 * @returns what to try next, or what was found
 */
export function afterLook(
  { fromMs, toMs, gapMs, gapMsMax }: HangSearch,
  wentOff: boolean,
): { readonly next: HangSearch } | { readonly found: HangFound } {
  if (!wentOff && gapMs === gapMsMax)
    return { found: { fromMs: gapMs, toMs: Number.POSITIVE_INFINITY } }
  const now = wentOff ? { fromMs, toMs: gapMs } : { fromMs: gapMs, toMs }
  if (now.toMs - now.fromMs <= nearMs) return { found: now }
  return { next: { ...now, gapMs: Math.round((now.fromMs + now.toMs) / 2), gapMsMax } }
}

/** What to write for ptt.hangMs: a tenth to spare, for a warm day and a louder sound. */
export const hangMsFor = ({ toMs }: HangFound): number => Math.ceil((toMs * 1.1) / 10) * 10
