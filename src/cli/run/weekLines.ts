import type { Config, RadioSection } from '../../config/schema.js'
import { combinedExposure } from '../../exposure/combined.js'
import { estimateExposure } from '../../exposure/estimate.js'
import { type Clock, pause } from '../../runtime/clock.js'
import { type ClockSet, clockSetIn } from '../../setup/clockSet.js'
import { busiestShare, totalMs } from '../../setup/onAir.js'
import type { Keying } from '../../store/keyings.js'
import type { Store } from '../../store/store.js'
import { bothLengths, significant } from '../exposure/exposureReport.js'
import { dutyLimitsOf, figuresOfRadio, limitsOfConfig, siteOf } from '../exposure/exposureSite.js'

const weekMs = 7 * 86_400_000
const partMs = weekMs / 14

/**
 * What was really sent in the last week, a line a radio, and how near anybody might have come meanwhile. A station that is much
 * used keys 60,000 times in a week: they are read in parts, with room for others between them.
 */
export async function weekLines(
  config: Config,
  store: Pick<Store, 'keyings' | 'events' | 'settled'>,
  clock: Clock,
): Promise<string[]> {
  await store.settled()
  const nowWallMs = clock.wallMs()
  const week: Keying[] = []
  for (let fromMs = nowWallMs - weekMs; fromMs < nowWallMs; fromMs += partMs) {
    // What began in this moment, and by a clock that was set back a little since, counts.
    const toMs = fromMs + partMs < nowWallMs ? fromMs + partMs : nowWallMs + 60_000
    week.push(...store.keyings.between(fromMs, toMs))
    await pause(clock, 0)
  }
  const lines = config.radios.flatMap((radio, number) => {
    const own = week.filter((one) => one.radio === number)
    if (own.length > 0) return [`${radio.name}, last 7 days: ${sentWords(config, radio, own)}`]
    return radio.transmit.enabled ? [`${radio.name}, last 7 days: nothing sent`] : []
  })
  const sets = lines.length === 0 ? [] : clockSetIn(store.events, nowWallMs - weekMs)
  return [...lines, ...(sets.length === 0 ? [] : [setWords(sets)])]
}

const setWords = (sets: readonly ClockSet[]): string =>
  `the clock, last 7 days: ${sets.at(-1)!.how}${sets.length > 1 ? `, the last of ${sets.length} times` : ''}; what was sent before that is counted by the time that it showed then`

function sentWords(config: Config, radio: RadioSection, own: readonly Keying[]): string {
  const busiest = dutyLimitsOf(radio.transmit).map(({ windowS }) => ({
    windowS,
    share: busiestShare(own, windowS * 1000),
  }))
  const sentMs = totalMs(own)
  const most = busiest.map(
    ({ windowS, share }) => `${significant(100 * share, 2)} % of ${significant(windowS / 60)} min`,
  )
  const site = siteOf({ ...figuresOfRadio(radio), dutyLimits: busiest }, 'average')
  const result = site.ok ? estimateExposure(site.site, limitsOfConfig(config.exposure)) : undefined
  const exposure =
    site.ok && result?.ok === true
      ? `; at that, RF exposure (an estimate) asked everybody to keep ${bothLengths(combinedExposure([{ site: site.site, estimate: result.estimate }], 'general').keepAwayM)} from the antenna`
      : ''
  return `sent ${own.length === 1 ? 'once' : `${own.length} times`}, ${lengthWords(sentMs)} in all (${significant((100 * sentMs) / weekMs, 2)} % of the time), at most ${most.join(' and ')}${exposure}`
}

const lengthWords = (ms: number): string =>
  ms < 120_000 ? `${significant(ms / 1000, 2)} s` : `${significant(ms / 60_000, 2)} min`
