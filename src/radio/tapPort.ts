import type { TransmitRequest } from './port.js'
import type { RadioPort } from './radioPort.js'
import { wrapPort } from './wrapPort.js'

/**
 * The same radio, with somebody looking over its shoulder: what is sent through the returned port and really went out is told.
 * @param onSent octets without FCS, and when the transmission that held them ended (monotonicMs)
 */
export function tapPort(
  port: RadioPort,
  onSent: (octets: Uint8Array, atMs: number) => void,
): RadioPort {
  const waiting = new Map<string, TransmitRequest>()
  port.onOutcome(({ id, kind, atMs }) => {
    const request = waiting.get(id)
    if (request === undefined || kind === 'held') return
    waiting.delete(id)
    if (kind === 'sent') onSent(request.octets, atMs)
  })
  return wrapPort(port, {
    send(request) {
      waiting.set(request.id, request)
      port.send(request)
    },
  })
}
