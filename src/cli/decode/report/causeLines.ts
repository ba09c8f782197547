// Causes that stand in the spectrum: a line, tones off their place, one tone weaker than the other.
import type { Cause } from '../../../../dsp/causes/causes.js'
import { causeKindNames } from '../../../../dsp/causes/causeWords.js'
import { markHz, spaceHz } from '../../../../dsp/modem/modulator.js'
import { lane, type Stroke } from './lane.js'

const width = 160
const spanHz = 4000
const xOf = (hz: number): number => (hz * width) / spanHz

/** What of the axis of frequencies a cause is about, Hz: lines (from and to the same), or how far tones moved. */
function frequenciesOf(cause: Cause): { readonly fromHz: number; readonly toHz: number }[] {
  switch (cause.kind) {
    case 'hum':
      return [cause.hz, ...harmonicsOf(cause.hz)].map((hz) => ({ fromHz: hz, toHz: hz }))
    case 'sub-audible tone':
      return [{ fromHz: cause.hz, toHz: cause.hz }]
    case 'off-tune':
      return [markHz, spaceHz].map((hz) => ({ fromHz: hz, toHz: hz + cause.hz }))
    case '2200 Hz low':
    case '2200 Hz high':
      return [{ fromHz: markHz, toHz: spaceHz }]
    default:
      return []
  }
}

/** Of what a rectifier leaves of the mains, up to where the audio of a radio ends. */
const harmonicsOf = (hz: number): number[] =>
  Array.from({ length: Math.floor(3300 / (2 * hz)) }, (_, n) => 2 * hz * (n + 1))

/**
 * Marks within the spectrum.
 * @param yAt where the curve is at a frequency
 * @param perDb height of a decibel
 */
export const linesWithin = (
  causes: readonly Cause[],
  yAt: (hz: number) => number,
  perDb: number,
): string =>
  causes
    .map((cause) => {
      switch (cause.kind) {
        case 'hum':
        case 'sub-audible tone':
          return frequenciesOf(cause)
            .map(({ fromHz }) => dashes(`M${number(xOf(fromHz))} 120V${number(yAt(fromHz))}`))
            .join('')
        case 'off-tune':
          return frequenciesOf(cause)
            .map(({ toHz }) => dashes(`M${number(xOf(toHz))} 120V0`))
            .join('')
        case '2200 Hz low':
          return bracket(markHz, spaceHz, yAt(markHz), cause.db * perDb)
        case '2200 Hz high':
          return bracket(spaceHz, markHz, yAt(spaceHz), cause.db * perDb)
        default:
          return ''
      }
    })
    .join('')

/** From the level of the strong tone over to the weak one, and down by what it lacks. */
const bracket = (strongHz: number, weakHz: number, y: number, height: number): string =>
  dashes(`M${number(xOf(strongHz))} ${number(y)}H${number(xOf(weakHz))}v${number(height)}m-5 0h10`)

const dashes = (d: string): string => `<path class="cause" d="${d}"/>`

/** Under the spectrum: a bar and a word for each. */
export const linesBelow = (causes: readonly Cause[]): string =>
  causes
    .map((cause, at) => {
      const strokes: Stroke[] = frequenciesOf(cause).map(({ fromHz, toHz }) => ({
        from: xOf(Math.min(fromHz, toHz)),
        to: xOf(Math.max(fromHz, toHz)),
      }))
      return lane(strokes, width, causeKindNames(causes)[at]!)
    })
    .join('')

const number = (value: number): string => value.toFixed(1)
