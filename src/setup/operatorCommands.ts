import { z } from 'zod'
import { parseHoldDuration } from '../control/controlCommand.js'
import { type BeaconKind, beaconKinds } from '../node/beaconOptions.js'
import type { ServiceNode } from '../node/serviceNode.js'
import type { RadioPort } from '../radio/radioPort.js'
import type { Clock } from '../runtime/clock.js'
import { harmlessText } from '../runtime/harmlessText.js'
import type { TacticalNames } from '../services/event/tacticalNames.js'
import type { NodeEvent } from '../store/events.js'
import { type KeptHolds, operatorSource } from './keptHolds.js'

/** What the operator wants of the running node, one JSON object a line on the operator's socket. */
export const operatorRequest = z.strictObject({
  command: z.enum([
    ...(['hold', 'release', 'state', 'say', 'beacon', 'reload', 'tactical'] as const),
    ...(['entries', 'withdraw'] as const),
  ]),
  /** hold: "30m"; say: call, then text; beacon: kind; tactical: name, then call; entries: what stands in them; withdraw: id */
  words: z.array(z.string().max(400)).max(3).default([]),
  /** as the client's machine names its user: it goes into the log */
  who: z.string().max(60).default('somebody'),
})
export type OperatorRequest = z.infer<typeof operatorRequest>

/** What became of it, for a person. */
export interface OperatorReply {
  readonly ok: boolean
  readonly lines: readonly string[]
}

export interface OperatorParts {
  readonly clock: Clock
  readonly ports: readonly RadioPort[]
  readonly node: Pick<ServiceNode, 'say' | 'beaconNow' | 'state' | 'findEntries' | 'withdrawEntry'>
  readonly holds: KeptHolds
  /** the station's state, a line each */
  readonly stateLines: () => Promise<readonly string[]>
  /** of an event; absent where none is configured */
  readonly names?: TacticalNames | undefined
  /** reads the configuration again */
  readonly reload: () => Promise<OperatorReply>
  /** Keeps what was wanted, and by whom, in the log. */
  readonly note: (event: NodeEvent) => void
}

const done = (...lines: string[]): OperatorReply => ({ ok: true, lines })
const not = (...lines: string[]): OperatorReply => ({ ok: false, lines })

/** Does it, through the transmit controller as any other wish. */
export function doForOperator(
  request: OperatorRequest,
  parts: OperatorParts,
): OperatorReply | Promise<OperatorReply> {
  const { words } = request
  const who = harmlessText(request.who.trim()) || 'somebody'
  const note = (text: string): void =>
    parts.note({
      ...{ atWallMs: parts.clock.wallMs(), kind: 'control', text },
      reason: `at the terminal, ${who}`,
    })
  switch (request.command) {
    case 'state':
      return parts.stateLines().then((lines) => done(...lines))
    case 'reload':
      note('reload')
      return parts.reload()
    case 'hold':
      return hold(words, who, parts, note)
    case 'release':
      note('release')
      for (const port of parts.ports) port.release(operatorSource)
      return done(...releasedWords(parts.ports))
    case 'say': {
      const [to = '', text = ''] = words
      const said = parts.node.say({ to, text })
      if (!said.ok) return not(`Not sent: ${said.reason}.`)
      note(`message to ${harmlessText(to.toUpperCase())} (${said.reference})`)
      return done(
        `Queued as ${said.reference}: \`ridgepost log --reference ${said.reference}\` says what becomes of it.`,
      )
    }
    case 'tactical':
      return giveName(words, who, parts, note)
    case 'entries':
      return entries(parts.node, words[0] ?? '')
    case 'withdraw': {
      const [id = ''] = words
      const done = parts.node.withdrawEntry(id)
      if (done === undefined) return not(`There is no entry "${harmlessText(id)}".`)
      note(`withdraw ${harmlessText(id)}`)
      return { ok: !done.startsWith('not '), lines: [`${harmlessText(id)}: ${done}.`] }
    }
    case 'beacon': {
      const kind = words[0] ?? 'position'
      if (!beaconKinds.includes(kind as BeaconKind))
        return not(
          `There is no beacon "${harmlessText(kind)}": there are ${beaconKinds.join(', ')}.`,
        )
      note(`beacon now: ${kind}`)
      parts.node.beaconNow(kind)
      return done(`The ${kind} beacon is queued, if there is something to tell.`)
    }
  }
}

function giveName(
  [name = '', call = '']: readonly string[],
  who: string,
  { names }: OperatorParts,
  note: (text: string) => void,
): OperatorReply {
  if (names === undefined) return not('There is no [event] in the configuration.')
  if (name === '') {
    const lines = names.all().map((one) => `${one.name.padEnd(9)} ${one.call ?? '-'}`)
    return done(...(lines.length === 0 ? ['No tactical names are given.'] : lines))
  }
  const given = names.give(name, call, `the terminal, ${who}`)
  if (!given.ok) return not(`Not done: ${harmlessText(given.reason)}.`)
  const held = `${given.name} is ${given.call ?? 'nobody'} now`
  note(held)
  return done(`${held}.`)
}

/** More than a screen of them are found by words. */
const entriesShown = 40

function entries(node: OperatorParts['node'], words: string): OperatorReply {
  const found = node.findEntries(words)
  if (found === undefined)
    return not('Nothing is exchanged with other nodes: hills.enabled is off.')
  if (found.length === 0) return done(words === '' ? 'No entries.' : 'No entry has that in it.')
  const more = found.length - entriesShown
  return done(
    ...found.slice(0, entriesShown).map(({ id, kind, from, to, text, state, peer }) => {
      const where = peer === undefined ? state : `${state} ${peer}`
      const receiver = to === '*' ? '' : ` to ${to}`
      const words = harmlessText(text.replaceAll('\n', ' / ').slice(0, 80))
      return `${id}  ${kind} from ${from}${receiver}, ${where}: ${words}`
    }),
    ...(more > 0 ? [`... and ${more} more: give words that stand in it.`] : []),
  )
}

function hold(
  words: readonly string[],
  who: string,
  { ports, holds }: OperatorParts,
  note: (text: string) => void,
): OperatorReply {
  const [duration] = words
  const durationMs = duration === undefined ? undefined : parseHoldDuration(duration)
  if (duration !== undefined && durationMs === undefined)
    return not(`"${harmlessText(duration)}" is not a time: expected 30m, 2h or 1d, at most a week.`)
  const until = duration === undefined ? 'until it is released' : `for ${duration}`
  note(`hold ${until}`)
  for (const port of ports) {
    port.hold(operatorSource, `by ${who}`)
    if (durationMs !== undefined) holds.endAfter(port, durationMs)
  }
  return done(`Nothing is sent ${until}; a restart does not end it.`)
}

/** A release ends the operator's own hold only: others go on. */
function releasedWords(ports: readonly RadioPort[]): string[] {
  const others = ports.flatMap((port) => {
    const left = (port.state().holds ?? []).filter(({ source }) => source !== operatorSource)
    return left.map(({ source, reason }) => `${port.name} is still held: ${source}, ${reason}.`)
  })
  return ["The operator's hold is released.", ...others]
}
