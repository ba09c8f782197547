import type { z } from 'zod'
import type { ModemSection } from './sections/modem.js'
import type { SignalSection } from './sections/signal.js'

/** An external modem makes the signal itself: what is said of ours would be believed and not be so. */
export function checkSignal(
  { modem, signal }: { readonly modem: ModemSection; readonly signal: SignalSection },
  context: z.RefinementCtx,
): void {
  if (modem.kind === 'none' || signal.errorCorrection === 'none') return
  context.addIssue({
    code: 'custom',
    path: ['signal', 'errorCorrection'],
    message: 'expected "none" with an external modem, which makes the signal itself',
  })
}
