import { parseLocator } from '../../aprs/locator.js'
import { parseCall } from '../callWords.js'
import { parseBand } from '../repeaters/bands.js'

/** 'HN15', 'hn15pf': two letters alone are a word. */
export const isLocatorWord = (word: string): boolean =>
  word.length >= 4 && parseLocator(word) !== undefined

const callShape = /^[a-z0-9]{1,3}\d[a-z]{1,4}(-\d{1,2})?$/i

/** A call sign, and not a band or a locator, which look like one. */
export const isCallWord = (word: string): boolean =>
  callShape.test(word) &&
  !isLocatorWord(word) &&
  parseBand(word) === undefined &&
  parseCall(word) !== undefined
