import { parseLocator } from '../../aprs/locator.js'
import { parseCall } from '../callWords.js'
import { parseBand } from '../repeaters/bands.js'
import { parseMode } from '../repeaters/modeWanted.js'

/** 'HN15', 'hn15pf': two letters alone are a word; 'AO91' and 'FO29' are satellites, whose squares lie in the sea off the Aleutians and in Labrador. */
export const isLocatorWord = (word: string): boolean =>
  word.length >= 4 && parseLocator(word) !== undefined && !/^(ao\d\d|fo29)$/i.test(word)

/** A letter stands before the figure: '20h' is a time. */
const callShape = /^(?=\d?[a-z]+\d)[a-z0-9]{1,3}\d[a-z]{1,4}(-\d{1,2})?$/i

/** A call sign, and not a band, a mode or a locator, which look like one. */
export const isCallWord = (word: string): boolean =>
  callShape.test(word) &&
  !isLocatorWord(word) &&
  parseBand(word) === undefined &&
  parseMode(word) === undefined &&
  parseCall(word) !== undefined

/** 'SO50', 'RS44': amateur satellites as people write them (common practice, no source). */
export const isDesignator = (word: string): boolean =>
  /^(ao|cas|fo|io|jo|lo|no|qo|rs|so|to|uo|xw)-?\d{1,3}$/i.test(word)
