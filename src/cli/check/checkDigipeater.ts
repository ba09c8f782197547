import type { Config, RadioSection } from '../../config/schema.js'
import { digipeaterOptions } from '../../setup/digipeaterOptions.js'
import { significant } from '../exposure/exposureReport.js'
import { type Finding, look, mend } from '../shared/finding.js'

/** A position with a comment and three addresses in its path; with flags, FCS and stuffed bits. */
const usualFrameBits = 100 * 8 * 1.03

/** What is repeated, and what it will cost. */
export function digipeaterLines(config: Config): [string, string][] {
  const { kind, widestN, beyond, waitForOthersS, othersEnough, withinKm, skip, aliases } =
    config.digipeater
  const { routes } = digipeaterOptions(config)
  const names = [config.station.call, ...aliases, kind === 'fill-in' ? 'WIDE1-1' : '']
  const wide = kind === 'wide' ? [`WIDEn-N, n up to ${widestN} (more: ${beyond})`] : []
  const left = [
    ...(withinKm === undefined ? [] : [`stations known to be beyond ${withinKm} km`]),
    ...skip,
  ]
  const radioOf = (number: number): string => config.radios[number]?.name ?? `radio ${number}`
  return [
    ['repeats', [...names.filter((name) => name !== ''), ...wide].join(', ')],
    [
      'where',
      routes
        .map(({ from, to }) =>
          from === to ? radioOf(from) : `from ${radioOf(from)} to ${radioOf(to)}`,
        )
        .join(', ') || 'nowhere: no radio may send',
    ],
    ...(left.length === 0 ? [] : ([['leaves out', left.join(', ')]] as [string, string][])),
    [
      'others first',
      waitForOthersS === 0
        ? 'it does not wait for them'
        : `waits ${waitForOthersS} to ${2 * waitForOthersS} s, and leaves to them what ${othersEnough} repeat`,
    ],
    ...[...new Set(routes.map(({ to }) => to))].flatMap((to): [string, string][] => {
      const radio = config.radios[to]
      return radio === undefined ? [] : [['costs', costWords(config, radio)]]
    }),
  ]
}

function costWords({ digipeater }: Config, { name, transmit, signal }: RadioSection): string {
  const usualFrameMs = Math.round((usualFrameBits * 1000) / signal.bitRate)
  const onceMs = transmit.keyDelayMs + usualFrameMs + transmit.tailMs
  const perHundred = (100 * onceMs) / 36_000
  const mostPerMinute = Math.floor(((transmit.dutyPercent / 100) * 60_000) / onceMs)
  return `${name}: about ${significant(onceMs / 1000, 2)} s of the key line a frame; ${significant(perHundred, 2)} % of the time for each 100 frames an hour that ask for it. The duty limit of ${transmit.dutyPercent} % allows ${mostPerMinute} a minute, digipeater.perMinute ${digipeater.perMinute}`
}

/** What the licensee has to see to. */
export function digipeaterFindings(config: Config): Finding[] {
  if (!config.digipeater.enabled) return []
  const { routes } = digipeaterOptions(config)
  const missing = routes.flatMap(({ from, to }) =>
    [from, to].filter((one) => config.radios[one] === undefined),
  )
  return [
    ...[...new Set(missing)].map((one) =>
      mend('digipeater', `radio ${one} is named, and there is none of this number`),
    ),
    look(
      'digipeater',
      'it sends what strangers sent: who holds the licence answers for the station (47 CFR 97.219; local rules come first). Ask who repeats in your area already: one station too many costs everybody airtime',
    ),
    ...(config.digipeater.kind === 'wide' && config.digipeater.widestN > 2
      ? [
          look(
            'digipeater.widestN',
            `${config.digipeater.widestN}: more than 2 hops fill the channel of a whole region; most regions ask for 2 (recommendations of 2005)`,
          ),
        ]
      : []),
  ]
}
