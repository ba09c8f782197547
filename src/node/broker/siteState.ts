/** What a node tells everybody at a broker of itself: figures only, and nothing that people wrote. */
export interface SiteState {
  readonly call: string
  /** undefined while the clock is not trusted */
  readonly wallMs: number | undefined
  /** absent where they are not told */
  readonly radios?: readonly SiteRadio[] | undefined
  readonly telemetry?: readonly SiteReading[] | undefined
}

export interface SiteRadio {
  readonly number: number
  readonly name: string
  readonly receiving: boolean
  readonly keyed: boolean
  /** of the last second before; undefined where the radio tells none */
  readonly level: { readonly rmsDbfs: number; readonly peakDbfs: number } | undefined
  /** of what its limits allow in their window, 0 to 1 */
  readonly dutyUsed: number
  /** sources alone: a reason may name people */
  readonly heldBy: readonly string[]
}

export interface SiteReading {
  readonly name: string
  readonly unit: string
  /** undefined while it cannot be read */
  readonly value: number | undefined
}

const encoder = new TextEncoder()

/**
 * JSON: `{"form":1,"call","atUtc","radios":[{"number","name","receiving","keyed","levelDbfs","peakDbfs","dutyUsedPercent","heldBy"}],
 * "telemetry":[{"name","value","unit"}]}`; what is not known is null.
 */
export function statePayload({ call, wallMs, radios, telemetry }: SiteState): Uint8Array {
  return encoder.encode(
    JSON.stringify({
      ...{ form: 1, call, atUtc: wallMs === undefined ? null : new Date(wallMs).toISOString() },
      ...(radios && { radios: radios.map(radioFigures) }),
      ...(telemetry && {
        telemetry: telemetry.map(({ name, unit, value }) => ({ name, value: figure(value), unit })),
      }),
    }),
  )
}

const radioFigures = ({ level, dutyUsed, ...rest }: SiteRadio) => {
  const { number, name, receiving, keyed, heldBy } = rest
  return {
    ...{ number, name, receiving, keyed },
    ...{ levelDbfs: figure(level?.rmsDbfs, 1), peakDbfs: figure(level?.peakDbfs, 1) },
    ...{ dutyUsedPercent: figure(dutyUsed * 100, 1), heldBy: [...heldBy].sort() },
  }
}

/** Neither infinity nor NaN is a number of JSON. */
const figure = (value: number | undefined, decimals = 3): number | null =>
  value === undefined || !Number.isFinite(value) ? null : Number(value.toFixed(decimals))
