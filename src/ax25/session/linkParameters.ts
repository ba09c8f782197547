import type { Modulo } from '../control.js'

/** What two stations of a connection go by. */
export interface LinkParameters {
  readonly modulo: Modulo
  /** single frames are asked for again (SREJ), not all from one on (REJ) */
  readonly selective: boolean
  /** N1: octets of an information field */
  readonly informationOctetsMax: number
  /** k: I frames that may be unacknowledged */
  readonly windowFramesMax: number
  /** N2: tries without an answer */
  readonly triesMax: number
}

/** T1 where nothing was measured yet. @see AX.25 v2.2, 6.3.2 */
export const t1DefaultMs = 3000

/**
 * A connection that begins with SABM. The figures say k = 8; the text says 7, and modulo 8 allows no more.
 * @see AX.25 v2.2, 6.3.2
 */
export const version20: LinkParameters = {
  modulo: 8,
  selective: false,
  informationOctetsMax: 256,
  windowFramesMax: 7,
  triesMax: 10,
}

/** A connection that begins with SABME. @see AX.25 v2.2, 6.3.2 */
export const version22: LinkParameters = {
  modulo: 128,
  selective: true,
  informationOctetsMax: 256,
  windowFramesMax: 32,
  triesMax: 10,
}
