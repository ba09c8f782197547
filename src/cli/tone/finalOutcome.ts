import type { FinalOutcome, Port } from '../../radio/port.js'

/**
 * What becomes of one request in the end.
 * @param onHeld called as often as it is held, with the reason
 */
export function finalOutcome(
  port: Pick<Port, 'onOutcome'>,
  id: string,
  onHeld: (reason: string) => void = () => {},
): Promise<FinalOutcome> {
  return new Promise((resolve) => {
    port.onOutcome((outcome) => {
      if (outcome.id !== id) return
      if (outcome.kind === 'held') onHeld(outcome.reason)
      else resolve(outcome)
    })
  })
}
