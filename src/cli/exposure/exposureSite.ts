import type { Config, RadioSection } from '../../config/schema.js'
import { afskDutyFactor, type DutyLimit } from '../../exposure/averaging.js'
import type { TransmittingSite } from '../../exposure/estimate.js'
import type { Reflection } from '../../exposure/fields.js'
import { limitSetOf } from '../../exposure/limitSets.js'
import type { LimitSet } from '../../exposure/limits.js'

/** The figures of a site that somebody has given; what is undefined is still missing. */
export interface SiteFigures {
  readonly frequencyMHz?: number | undefined
  readonly powerW?: number | undefined
  readonly feedLineLossDb?: number | undefined
  readonly antennaGainDbi?: number | undefined
  readonly antennaHeightM?: number | undefined
  readonly antennaSizeM?: number | undefined
  readonly dutyLimits?: readonly DutyLimit[] | undefined
}

/** A radio's figures as its configuration has them. */
export function figuresOfRadio({ transmit }: RadioSection): SiteFigures {
  return {
    frequencyMHz: transmit.frequencyMHz,
    powerW: transmit.powerW,
    feedLineLossDb: transmit.feedLineLossDb,
    antennaGainDbi: transmit.antennaGainDbi,
    antennaHeightM: transmit.antennaHeightM,
    antennaSizeM: transmit.antennaSizeM,
    dutyLimits: dutyLimitsOf(transmit),
  }
}

/** What the transmit controller enforces, in the words of the exposure arithmetic. */
export const dutyLimitsOf = (transmit: RadioSection['transmit']): DutyLimit[] => [
  { windowS: transmit.dutyWindowMinutes * 60, share: transmit.dutyPercent / 100 },
  { windowS: transmit.longDutyWindowMinutes * 60, share: transmit.longDutyPercent / 100 },
]

/** Each missing figure by the configuration's key and the command's option. */
export const siteKeys = {
  frequencyMHz: { key: 'transmit.frequencyMHz', option: '--frequency MHZ' },
  powerW: { key: 'transmit.powerW', option: '--power W' },
  antennaGainDbi: { key: 'transmit.antennaGainDbi', option: '--gain DBI' },
} as const

/** @returns the whole site, or the names of what is missing for an estimate */
export function siteOf(
  figures: SiteFigures,
  reflection: Reflection,
):
  | { readonly ok: true; readonly site: TransmittingSite }
  | { readonly ok: false; readonly missing: readonly (keyof typeof siteKeys)[] } {
  const { frequencyMHz, powerW, antennaGainDbi } = figures
  if (frequencyMHz === undefined || powerW === undefined || antennaGainDbi === undefined) {
    const names = Object.keys(siteKeys) as (keyof typeof siteKeys)[]
    return { ok: false, missing: names.filter((name) => figures[name] === undefined) }
  }
  return {
    ok: true,
    site: {
      frequencyMHz,
      powerW,
      antennaGainDbi,
      feedLineLossDb: figures.feedLineLossDb ?? 0,
      antennaHeightM: figures.antennaHeightM,
      antennaSizeM: figures.antennaSizeM,
      dutyLimits: figures.dutyLimits ?? [],
      modeDutyFactor: afskDutyFactor,
      reflection,
    },
  }
}

/** The set of limits that a configuration names. */
export const limitsOfConfig = (section: Config['exposure']): LimitSet =>
  limitSetOf(
    section.limits,
    section.limits === 'own'
      ? {
          generalWPerM2: section.ownWPerM2!,
          occupationalWPerM2: section.ownOccupationalWPerM2,
          averagingMinutes: section.ownAveragingMinutes!,
        }
      : undefined,
  )
