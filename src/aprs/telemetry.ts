import { bad, good, type Result } from '../ax25/result.js'
import { decodeBase91 } from './base91.js'
import { readText } from './text.js'
import {
  type TelemetryDefinitionPayload,
  type TelemetryPayload,
  type TelemetryValues,
  type UnreadablePayload,
  unreadable,
} from './types.js'

/*
 * Telemetry (ch. 13): reports `T#005,199,000,255,073,123,01101001`, definitions in messages of a
 * station to itself, and base-91 values in the comment of a position (addendum).
 */

/**
 * Reads a report, from the `T` on. Values may have decimals and signs, as the addendum allows, and
 * may be left out.
 */
export function parseTelemetryReport(text: string): TelemetryPayload | UnreadablePayload {
  // `MIC` needs no comma after it (ch. 13).
  const parts = /^T#(?:(MIC),?|(\d{1,5}),)(.*)$/s.exec(text)
  if (parts === null) return unreadable('telemetry without a sequence number')
  const sequence = (parts[1] ?? parts[2])!
  const fields = parts[3]!.split(',')
  const analog: (number | undefined)[] = []
  for (const field of fields.slice(0, 5)) {
    if (!/^-?(?:\d{1,15}(?:\.\d{0,15})?|\.\d+)?$/.test(field)) {
      return unreadable(`telemetry value '${readText(field)}' is not a number`)
    }
    analog.push(/\d/.test(field) ? Number(field) : undefined)
  }
  if (analog.every((value) => value === undefined)) return unreadable('telemetry without values')
  const last = fields.slice(5).join(',')
  const bits = /^([01]{0,8})(.*)$/s.exec(last)!
  return {
    kind: 'telemetry',
    telemetry: { sequence, analog, digital: [...bits[1]!].map((bit) => bit === '1') },
    comment: readText(bits[2]!).trim(),
  }
}

/**
 * Finds `|ss1122334455!"|` in a comment: sequence, one to five values and perhaps the bits, two
 * characters each.
 */
export function findCommentTelemetry(
  text: string,
): { readonly telemetry: TelemetryValues; readonly rest: string } | undefined {
  const parts = /^(.*)\|((?:[!-{]{2}){2,7})\|(.*)$/s.exec(text)
  if (parts === null) return undefined
  const numbers: number[] = []
  for (const pair of parts[2]!.match(/../gs)!) {
    const value = decodeBase91(pair)
    if (!value.ok) return undefined
    numbers.push(value.value)
  }
  const bits = numbers[6]
  const digital =
    bits === undefined ? [] : Array.from({ length: 8 }, (_, bit) => ((bits >> bit) & 1) === 1)
  return {
    telemetry: { sequence: String(numbers[0]), analog: numbers.slice(1, 6), digital },
    rest: parts[1]! + parts[3]!,
  }
}

/** Reads the text of a definition message; undefined when it is not one. */
export function parseTelemetryDefinition(
  addressee: string,
  text: string,
): TelemetryDefinitionPayload | UnreadablePayload | undefined {
  const parts = /^(PARM|UNIT|EQNS|BITS)\.(.*)$/s.exec(text)
  if (parts === null) return undefined
  const body = parts[2]!
  const kind = 'telemetryDefinition'
  if (parts[1] === 'PARM' || parts[1] === 'UNIT') {
    const labels = body.split(',').map((label) => readText(label).trim())
    if (labels.length > 13) return unreadable('telemetry labels for more than 13 channels')
    return { kind, addressee, definition: parts[1] === 'PARM' ? 'names' : 'units', labels }
  }
  if (parts[1] === 'EQNS') {
    const coefficients = parseEquations(body)
    if (!coefficients.ok) return unreadable(coefficients.reason)
    return { kind, addressee, definition: 'equations', coefficients: coefficients.value }
  }
  const bits = /^([01]{1,8})(?:,(.*))?$/s.exec(body)
  if (bits === null) return unreadable('telemetry bit states are not zeros and ones')
  const activeStates = [...bits[1]!].map((bit) => bit === '1')
  return { kind, addressee, definition: 'bits', activeStates, title: readText(bits[2] ?? '') }
}

function parseEquations(body: string): Result<[number, number, number][]> {
  const numbers = body.split(',').map((field) => field.trim())
  if (numbers.length > 15) return bad('telemetry equations for more than 5 channels')
  const coefficients: [number, number, number][] = []
  for (let at = 0; at < numbers.length; at += 3) {
    const triple = numbers.slice(at, at + 3)
    if (triple.length < 3) return bad('telemetry equations with a coefficient missing')
    const wrong = triple.find((field) => !/^[+-]?(?:\d{1,15}(?:\.\d{0,15})?|\.\d+)$/.test(field))
    if (wrong !== undefined)
      return bad(`telemetry coefficient '${readText(wrong)}' is not a number`)
    coefficients.push(triple.map(Number) as [number, number, number])
  }
  return good(coefficients)
}
