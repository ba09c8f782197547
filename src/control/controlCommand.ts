/** What the control operator may ask by radio. */
export type ControlCommand =
  | { readonly kind: 'hold'; readonly durationMs: number | undefined }
  | { readonly kind: 'release' }
  | { readonly kind: 'state' }
  /** a tactical name of an event, and who holds it from now on */
  | { readonly kind: 'tactical'; readonly name: string; readonly call: string }

export interface ControlMessage {
  readonly command: ControlCommand
  /** 6 to 8 digits; undefined where none was sent */
  readonly code: string | undefined
}

/** A hold that is to end by itself lasts at most a week; longer ones are released by hand. */
export const holdMsMax = 7 * 86_400_000

const units: Readonly<Record<string, number>> = { m: 60_000, h: 3_600_000, d: 86_400_000 }

/** Length of a hold: "30m", "2h", "1d"; undefined for anything else, or over a week. */
export function parseHoldDuration(text: string): number | undefined {
  const [, count, unit] = /^(\d{1,5})([mhd])$/i.exec(text) ?? []
  if (count === undefined || unit === undefined) return undefined
  const durationMs = Number(count) * units[unit.toLowerCase()]!
  return durationMs > 0 && durationMs <= holdMsMax ? durationMs : undefined
}

/**
 * Reads `hold [30m] CODE`, `release CODE`, `state CODE` and `tactical NAME CALL CODE`, in any case. A service of the same name, asked with other words,
 * is not meant: whatever else stands in the text makes it no command.
 * @returns undefined for a text that is none of these
 */
export function parseControlMessage(text: string): ControlMessage | undefined {
  const words = text.trim().split(/\s+/)
  const kind = words[0]?.toLowerCase()
  const last = words.at(-1)!
  const code = words.length > 1 && /^\d{6,8}$/.test(last) ? last : undefined
  const between = words.slice(1, code === undefined ? undefined : -1)
  if (kind === 'release' || kind === 'state')
    return between.length === 0 ? { command: { kind }, code } : undefined
  if (kind === 'tactical') {
    const [name, call] = between
    return name === undefined || call === undefined || between.length > 2
      ? undefined
      : { command: { kind, name, call }, code }
  }
  if (kind !== 'hold' || between.length > 1) return undefined
  if (between.length === 0) return { command: { kind, durationMs: undefined }, code }
  const durationMs = parseHoldDuration(between[0]!)
  return durationMs === undefined ? undefined : { command: { kind, durationMs }, code }
}
