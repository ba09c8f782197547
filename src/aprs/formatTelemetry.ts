import { formatMessage } from './format.js'
import { writeText } from './text.js'

/*
 * Telemetry that we send (ch. 13). Definitions are messages to the station that the telemetry is
 * of.
 */

/** Characters that each name may have, analog channels first (ch. 13, from memory). */
export const nameLengthMax = [7, 6, 5, 5, 4, 5, 4, 3, 3, 3, 2, 2, 2]
/** The same for units. */
export const unitLengthMax = nameLengthMax

/**
 * `T#005,199,000,255,073,123,01101001`
 * @param parts.sequence 0 to 999, or any larger count: its last three digits go
 * @param parts.analog five whole numbers, 0 to 255
 * @param parts.digital eight bits, B1 first
 * @throws RangeError for anything else
 */
export function formatTelemetry(parts: {
  readonly sequence: number
  readonly analog: readonly number[]
  readonly digital: readonly boolean[]
}): Uint8Array {
  const { sequence, analog, digital } = parts
  if (!Number.isInteger(sequence) || sequence < 0) {
    throw new RangeError(`telemetry sequence: got ${sequence}, expected a whole number from 0`)
  }
  if (analog.length !== 5 || analog.some((v) => !Number.isInteger(v) || v < 0 || v > 255)) {
    throw new RangeError('telemetry: expected five whole numbers from 0 to 255')
  }
  if (digital.length !== 8) throw new RangeError('telemetry: expected eight bits')
  const values = [sequence % 1000, ...analog].map((value) => String(value).padStart(3, '0'))
  return writeText(`T#${values.join(',')},${digital.map((bit) => (bit ? '1' : '0')).join('')}`)
}

/** Names of up to 13 channels, five analog then eight digital. */
export function formatTelemetryNames(call: string, names: readonly string[]): Uint8Array {
  return definition(call, 'PARM', checkLabels(names, nameLengthMax))
}

/** Units of the analog channels and words for the digital ones' active state. */
export function formatTelemetryUnits(call: string, units: readonly string[]): Uint8Array {
  return definition(call, 'UNIT', checkLabels(units, unitLengthMax))
}

/** a, b, c of a v² + b v + c for up to five channels. */
export function formatTelemetryEquations(
  call: string,
  coefficients: readonly (readonly [number, number, number])[],
): Uint8Array {
  if (coefficients.length > 5) throw new RangeError('telemetry equations: expected at most five')
  return definition(call, 'EQNS', coefficients.flat().map(decimalText))
}

function definition(call: string, what: string, fields: readonly string[]): Uint8Array {
  return formatMessage({ addressee: call, text: `${what}.${fields.join(',')}` })
}

function checkLabels(labels: readonly string[], lengthsMax: readonly number[]): readonly string[] {
  for (const [index, label] of labels.entries()) {
    const lengthMax = lengthsMax[index]
    if (lengthMax === undefined) throw new RangeError('telemetry labels: expected at most 13')
    if (label.length > lengthMax || label.includes(',')) {
      const wanted = `at most ${lengthMax} characters without a comma`
      throw new RangeError(`telemetry label ${index + 1}: got '${label}', expected ${wanted}`)
    }
  }
  return labels
}

/** As short as it goes, never with an exponent. */
function decimalText(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`telemetry coefficient: got ${value}`)
  return String(Number(value.toFixed(6)))
    .replace(/^(-?)0\./, '$1.')
    .replace(/^-?0?\.?0*e.*$/, '0')
}
