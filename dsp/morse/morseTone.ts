import { shapedAmplitude } from '../measure/shapedEdges.js'
import {
  charactersWithoutMorse,
  dotMs,
  type MorseElement,
  morseElements,
  morseUnits,
} from './morseCode.js'

export interface MorseToneOptions {
  /** what morseElements takes */
  readonly text: string
  /** 1 to 60 */
  readonly wordsPerMinute: number
  readonly toneHz: number
  readonly sampleRateHz: number
  /** amplitude, 0 to 1 of full scale */
  readonly level: number
}

/**
 * A text in Morse as a keyed tone, with raised-cosine edges inside each signal.
 * @returns mono samples, from the start of the first signal to the end of the last
 * @throws RangeError for a speed or a tone out of range, or a character without code
 */
export function morseTone(options: MorseToneOptions): Float32Array {
  const { text, wordsPerMinute, toneHz, sampleRateHz, level } = options
  if (!(toneHz > 0 && toneHz < sampleRateHz / 2))
    throw new RangeError(`Morse: got a tone of ${toneHz} Hz at ${sampleRateHz} samples a second`)
  const elements = requiredElements(text)
  const unitSamples = (dotMs(checkedSpeed(wordsPerMinute)) * sampleRateHz) / 1000
  const samples = new Float32Array(Math.round(morseUnits(elements) * unitSamples))
  const edge = Math.min((edgeMs * sampleRateHz) / 1000, unitSamples / 3)
  const step = (2 * Math.PI * toneHz) / sampleRateHz
  let unit = 0
  for (const element of elements) {
    const start = unit * unitSamples
    const length = element.units * unitSamples
    unit += element.units
    if (!element.on) continue
    const last = Math.min(samples.length - 1, Math.floor(start + length))
    for (let index = Math.ceil(start); index <= last; index++)
      samples[index] = level * shapedAmplitude(index - start, length, edge) * Math.sin(step * index)
  }
  return samples
}

/**
 * How long that takes.
 * @throws RangeError as morseTone
 */
export function morseDurationMs({
  text,
  wordsPerMinute,
}: Pick<MorseToneOptions, 'text' | 'wordsPerMinute'>): number {
  return morseUnits(requiredElements(text)) * dotMs(checkedSpeed(wordsPerMinute))
}

/** A tone that is switched faster than that clicks far outside its channel (common practice, no source). */
const edgeMs = 5

function checkedSpeed(wordsPerMinute: number): number {
  if (!(wordsPerMinute >= 1 && wordsPerMinute <= 60))
    throw new RangeError(`Morse: got ${wordsPerMinute} words a minute, expected 1 to 60`)
  return wordsPerMinute
}

/** Texts from outside go through charactersWithoutMorse first. */
function requiredElements(text: string): MorseElement[] {
  const elements = morseElements(text)
  if (elements === undefined)
    throw new RangeError(`Morse: no code for ${charactersWithoutMorse(text).join(' ')}`)
  return elements
}
