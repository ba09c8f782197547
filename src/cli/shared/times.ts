import { InvalidArgumentError } from 'commander'

/** A moment as somebody gives it: absolute, or so long before now. */
export type Moment = { readonly wallMs: number } | { readonly agoMs: number }

const unitMs: Readonly<Record<string, number>> = {
  s: 1000,
  m: 60_000,
  min: 60_000,
  h: 3_600_000,
  d: 86_400_000,
  w: 7 * 86_400_000,
}

/** '2026-06-21', '2026-06-21T16:00', with a zone or in UTC; or '10m', '2h', '3d' before now. */
export function momentOption(text: string): Moment {
  const ago = /^(\d+(?:\.\d+)?)\s*(s|m|min|h|d|w)$/.exec(text)
  if (ago) return { agoMs: Number(ago[1]) * unitMs[ago[2]!]! }
  const absolute =
    /^\d{4}-\d{2}-\d{2}(?:[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?)?(Z|[+-]\d{2}:\d{2})?$/.exec(text)
  const hasTime = /[T ]/.test(text)
  const iso = `${text.replace(' ', 'T')}${absolute?.[1] === undefined && hasTime ? 'Z' : ''}`
  const wallMs = Date.parse(iso)
  if (absolute === null || Number.isNaN(wallMs))
    throw new InvalidArgumentError(
      'Expected a time such as 2026-06-21T16:00 (UTC), or how long ago, such as 10m, 2h or 3d.',
    )
  return { wallMs }
}

export const wallMsOf = (moment: Moment, nowWallMs: number): number =>
  'wallMs' in moment ? moment.wallMs : nowWallMs - moment.agoMs
