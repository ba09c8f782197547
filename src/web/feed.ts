import { formatAddress } from '../ax25/address.js'
import { decodeFrame } from '../ax25/frame.js'
import type { HeardFrame } from '../radio/port.js'
import type { RadioEvent, RadioEventKind } from '../radio/radioEvent.js'
import type { RadioPort } from '../radio/radioPort.js'
import { harmlessText } from '../runtime/harmlessText.js'
import type { NodeEvent } from '../store/events.js'
import { hiddenKinds } from './eventList.js'
import { createEventStream, type EventStream } from './eventStream.js'
import type { PageParts } from './parts.js'
import { lookAtRadios, type SeenOfRadio } from './radioLook.js'
import { frameText } from './stateView.js'

/** Gathers what happens and tells it to those who look; what costs something begins when the first of them comes. */
export interface Feed {
  readonly stream: EventStream
  readonly startedWallMs: number
  /** an event of the node, as it happens */
  node(event: NodeEvent): void
  ofRadio(radio: number): SeenOfRadio
  close(): void
}

/** Of a radio's own events, what the node does not tell anyhow. */
const told: readonly RadioEventKind[] = [
  'keyed',
  'unkeyed',
  'identified',
  'cut',
  'unheard',
  'hold',
  'release',
  'settings',
  'fault',
  'recovered',
]

export function createFeed(parts: PageParts, boot: string): Feed {
  const { clock, ports } = parts
  const stream = createEventStream(clock, boot, ({ count, rows }) =>
    looking.look(count === 0 ? undefined : rows > 0),
  )
  const looking = lookAtRadios(parts, stream)
  for (const port of ports) follow(port, stream)
  return {
    stream,
    startedWallMs: clock.wallMs(),
    node(event) {
      const { atWallMs, ...rest } = event
      const text = harmlessText(event.text)
      const reason = event.reason === undefined ? undefined : harmlessText(event.reason)
      const isHidden = hiddenKinds.has(event.kind)
      stream.publish({ type: 'event', at: atWallMs, atWallMs, ...rest, text, reason }, { isHidden })
    },
    ofRadio: looking.ofRadio,
    close() {
      looking.look(undefined)
      stream.close()
    },
  }
}

function follow(port: RadioPort, stream: EventStream): void {
  const { radio } = port
  port.onFrame((frame) => stream.publish({ ...frameItem(frame), radio }))
  port.onEvent((event: RadioEvent) => {
    if (!told.includes(event.kind)) return
    const { kind, atWallMs, reason } = event
    const text = port.name
    const item = { kind, radio, atWallMs, text, reason: harmlessText(reason) }
    stream.publish({ type: 'event', at: atWallMs, ...item }, { isHidden: hiddenKinds.has(kind) })
  })
}

function frameItem({ octets, heardAtWallMs, repairedBits, quality }: HeardFrame) {
  const decoded = decodeFrame(octets)
  const from = decoded.ok ? formatAddress(decoded.frame.source) : undefined
  const path = decoded.ok
    ? decoded.frame.path
        .filter(({ repeated }) => repeated)
        .map(({ address }) => formatAddress(address))
    : []
  return {
    ...{ type: 'frame', at: heardAtWallMs, from, via: path, text: frameText(octets) },
    ...{ repairedBits, quality, octetCount: octets.length },
  }
}
