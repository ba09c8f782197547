import type { z } from 'zod'
import type { AudioSection } from './sections/audio.js'
import type { ModemSection } from './sections/modem.js'
import type { PttSection } from './sections/ptt.js'
import type { TransmitSection } from './sections/transmit.js'

/** The tables of a radio by which it can be told whether it keys itself. */
interface VoxTables {
  readonly audio: AudioSection
  readonly modem: ModemSection
  readonly ptt: PttSection
  readonly transmit: TransmitSection
}

/** Whether a radio keys itself on the audio that it is sent (VOX). A file keys nothing. */
export const keysItself = ({ audio, modem, ptt }: Omit<VoxTables, 'transmit'>): boolean =>
  modem.kind === 'none' &&
  ptt.kind === 'none' &&
  audio.output !== undefined &&
  !audio.output.startsWith('wav:')

/** One that may do so, too. */
export const isVox = (tables: VoxTables): boolean => tables.transmit.enabled && keysItself(tables)

/** What the radio adds to a transmission must be known where it keys itself: without it every limit is broken unseen. */
export function checkVox(tables: VoxTables, context: z.RefinementCtx): void {
  const { ptt, transmit } = tables
  const complain = (key: string, message: string): void => {
    context.addIssue({ code: 'custom', path: ['ptt', key], message })
  }
  if (isVox(tables) && ptt.hangMs === undefined)
    complain(
      'hangMs',
      'expected how long the radio stays on the air after its audio has ended, in milliseconds, as nothing but the audio keys it (ptt.kind = "none"); write hangMs = 3000 to begin with, measure it with `ridgepost tone vox`, and write what that says',
    )
  if (ptt.attackMs !== undefined && ptt.attackMs > transmit.keyDelayMs)
    complain(
      'attackMs',
      `expected at most transmit.keyDelayMs (${transmit.keyDelayMs}): what is sent before the radio is on the air is lost; raise that one`,
    )
}
