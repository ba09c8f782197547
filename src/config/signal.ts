import type { z } from 'zod'
import type { AudioSection } from './sections/audio.js'
import type { ModemSection } from './sections/modem.js'
import type { SignalSection } from './sections/signal.js'
import type { TransmitSection } from './sections/transmit.js'

interface SignalTables {
  readonly modem: ModemSection
  readonly signal: SignalSection
  readonly audio: AudioSection
  readonly receiver: { readonly il2p: boolean }
  readonly transmit: TransmitSection
}

/** A signal of 9600 bit/s reaches up to 7.5 kHz. */
const rateHzMinAt9600 = 19_200

export function checkSignal(tables: SignalTables, context: z.RefinementCtx): void {
  const complain = (path: readonly string[], message: string): void => {
    context.addIssue({ code: 'custom', path: [...path], message })
  }
  const { modem, signal } = tables
  // An external modem makes the signal itself: what is said of ours would be believed and not be so.
  if (modem.kind !== 'none' && signal.errorCorrection !== 'none')
    complain(
      ['signal', 'errorCorrection'],
      'expected "none" with an external modem, which makes the signal itself',
    )
  if (modem.kind === 'none' && signal.bitRate === 9600) checkAt9600(tables, complain)
}

/** What is made of two tones, or of fewer samples. */
function checkAt9600(
  { signal, audio, receiver, transmit }: SignalTables,
  complain: (path: readonly string[], message: string) => void,
): void {
  if (audio.rateHz < rateHzMinAt9600)
    complain(
      ['audio', 'rateHz'],
      `expected ${rateHzMinAt9600} or more with signal.bitRate = 9600, which reaches up to 7.5 kHz; write 48000`,
    )
  if (signal.errorCorrection.startsWith('il2p'))
    complain(
      ['signal', 'errorCorrection'],
      'expected "none" or FX.25 with signal.bitRate = 9600: IL2P is for two tones here',
    )
  if (receiver.il2p)
    complain(
      ['receiver', 'il2p'],
      'expected false with signal.bitRate = 9600: IL2P is for two tones here',
    )
  if (transmit.toneBalanceDb !== 0)
    complain(
      ['transmit', 'toneBalanceDb'],
      'expected 0 with signal.bitRate = 9600, which has no tones',
    )
}
