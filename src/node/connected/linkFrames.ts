import type { Ax25Frame } from '../../ax25/frame.js'
import type { LinkParameters } from '../../ax25/session/linkParameters.js'
import { encodeXid } from '../../ax25/session/xid.js'

/** A station before version 2 marks neither: its calls are commands, and nothing of it is a poll. */
export function isCommandFrame({ command, control }: Ax25Frame): boolean {
  if (command === 'command' || command === 'response') return command === 'command'
  if (control.type === 'S') return false
  return control.type !== 'U' || (control.name !== 'UA' && control.name !== 'DM')
}

/** What is wrong with a frame besides its numbers. */
export function faultOf({ control, payload }: Ax25Frame): 'control' | 'information' | undefined {
  if (control.type === 'U' && control.name === 'unknown') return 'control'
  const mayHaveNone = control.type === 'S' || (control.type === 'U' && control.name !== 'FRMR')
  return mayHaveNone && payload.length > 0 ? 'information' : undefined
}

/** What we tell of ourselves. @see AX.25 v2.2, 4.3.3.7 */
export const xidOf = (own: LinkParameters): Uint8Array =>
  encodeXid({
    ...{ modulo: own.modulo, selective: own.selective, segmenter: true },
    ...{ informationOctetsMax: own.informationOctetsMax, triesMax: own.triesMax },
    // With SREJ no more than half of the numbers.
    windowFramesMax: own.selective ? Math.min(32, own.modulo / 2) : own.modulo - 1,
  })
