import { beaconKinds } from '../node/beaconOptions.js'
import type { RadioPort } from '../radio/radioPort.js'
import { harmlessText } from '../runtime/harmlessText.js'
import { operatorSource } from '../setup/keptHolds.js'
import type { PageParts } from './parts.js'
import { Refusal } from './refusal.js'
import { type Call, type Route, route } from './route.js'
import { holdBody, messageBody, referenceSchema } from './schemas.js'

/*
 * The operator's hand. Each goes through the transmit controller as any other wish does, and is in the log with who did it.
 */

const api = '/api/v1'

export const controlRoutes: readonly Route[] = [
  route({
    ...{ method: 'PUT', path: `${api}/radios/{radio}/hold`, right: 'control', body: holdBody },
    summary: "the operator's own hold: cuts what is on the air, and nothing is sent until it ends",
    handle(call) {
      const port = portAt(call)
      const why = harmlessText(call.body.reason.trim())
      note(call, `hold on ${port.name}${why === '' ? '' : `: ${why}`}`, port.radio)
      // Everybody may read why; who did it, and from where, stands in the log alone.
      port.hold(operatorSource, why === '' ? 'on the page' : why)
      return { status: 204 }
    },
  }),
  route({
    ...{ method: 'DELETE', path: `${api}/radios/{radio}/hold`, right: 'control' },
    summary: "ends the operator's own hold, and no other",
    handle(call) {
      const port = portAt(call)
      note(call, `release of ${port.name}`, port.radio)
      port.release(operatorSource)
      return { status: 204 }
    },
  }),
  route({
    ...{ method: 'POST', path: `${api}/beacons/{kind}`, right: 'control' },
    summary: 'sends a beacon now',
    handle(call) {
      const { kind } = call.at
      if (!beaconKinds.some((one) => one === kind))
        throw new Refusal(404, 'beacon', `There are ${beaconKinds.join(', ')}.`)
      note(call, `beacon now: ${kind}`)
      call.parts.node.beaconNow(kind!)
      return { status: 204 }
    },
  }),
  route({
    ...{ method: 'POST', path: `${api}/messages`, right: 'control', body: messageBody },
    ...{ summary: 'sends a message as the station', response: referenceSchema },
    handle(call) {
      const said = call.parts.node.say(call.body)
      if (!said.ok) throw new Refusal(422, 'message', `Not sent: ${said.reason}.`)
      note(call, `message to ${call.body.to.toUpperCase()} (${said.reference})`)
      return { json: { reference: said.reference } }
    },
  }),
  route({
    ...{ method: 'DELETE', path: `${api}/radios/{radio}/queue/{id}`, right: 'control' },
    summary: 'drops a frame that waits',
    handle(call) {
      const port = portAt(call)
      const id = call.at.id!
      const isOurs = call.parts.node.drop(id, 'dropped by the operator')
      const { queue } = call.feed.ofRadio(port.radio)
      if (!isOurs && !queue.some((item) => item.id === id))
        throw new Refusal(404, 'queue', 'Nothing of this id waits: it was sent, or has ended.')
      if (!isOurs) port.withdraw(id)
      note(call, `dropped a frame that waited on ${port.name}`, port.radio)
      return { status: 204 }
    },
  }),
]

function portAt({ parts, at }: Pick<Call, 'parts' | 'at'>): RadioPort {
  const port = parts.ports.find(({ radio }) => String(radio) === at.radio)
  if (port === undefined) throw new Refusal(404, 'radio', `There is no radio ${at.radio}.`)
  return port
}

function note(
  { parts, visitor }: { readonly parts: PageParts; readonly visitor: Call['visitor'] },
  text: string,
  radio?: number,
): void {
  const reason = `on the page, ${visitor.who}`
  parts.note({ atWallMs: parts.clock.wallMs(), kind: 'control', text, radio, reason })
}
