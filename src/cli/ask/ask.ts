import { existsSync } from 'node:fs'
import { dirname } from 'node:path'
import { createInterface } from 'node:readline'
import { Command, InvalidArgumentError, Option } from 'commander'
import { parseLocator } from '../../aprs/locator.js'
import { characterCount, messageCharactersMax } from '../../aprs/messageText.js'
import { loadConfig, parseConfig } from '../../config/load.js'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import { type AddresseeKind, addresseeOf, offerOf } from '../../node/addressing.js'
import type { Clock } from '../../runtime/clock.js'
import { Failure } from '../../runtime/failure.js'
import { harmlessJson, harmlessText } from '../../runtime/harmlessText.js'
import { randomId } from '../../runtime/random.js'
import { createServices } from '../../services/all.js'
import { parseCall } from '../../services/callWords.js'
import { type Dispatched, dispatch } from '../../services/dispatch.js'
import { isPosition } from '../../services/geo/geodesic.js'
import type { GeoPosition, WaitingMessage } from '../../services/service.js'
import { splitAnswer } from '../../services/splitAnswer.js'
import { storeOptions } from '../../setup/nodeOptions.js'
import { serviceEventWords, serviceOptions } from '../../setup/serviceOptions.js'
import { openStoreReader, type StoreReader } from '../../store/readOnly.js'
import type { Wordings } from '../../words/air/all.js'
import { askWorld, type Besides } from './askContext.js'
import type { AskedEvent } from './askEvent.js'
import { queryAnswer } from './queryAnswer.js'

interface AskFlags {
  readonly from: string
  readonly to?: string
  readonly at?: GeoPosition
  readonly config?: string
  readonly time?: number
  readonly format: 'text' | 'json'
}

const examples = `
Examples:
  ridgepost ask "repeaters 2 70cm" --config node.toml --from N0CALL-7 --at 45.25,-36.70
  ridgepost ask pass next --config node.toml --at HN15pf --time 2026-06-21T16:00:00Z
  ridgepost ask --config node.toml           asks line by line
`

/** `ridgepost ask`: any service without a radio, with the messages as they would go out. */
export function askCommand(edges: Edges): Command {
  return new Command('ask')
    .description(
      'Ask a service without a radio: shows the messages as they would go out. Sends and keeps nothing.',
    )
    .argument('[question...]', 'such as "repeaters 2"; without it, each line of standard input')
    .option('--config <file>', "the node's configuration; without it there is no data")
    .addOption(new Option('--from <call>', 'who asks').argParser(callOption).default('N0CALL-7'))
    .option('--to <name>', "the node's call, or one of its names (node.alias), which is asked")
    .option(
      '--at <place>',
      'where the asker is, as LAT,LON in degrees or as a locator; else as heard last',
      placeOption,
    )
    .option('--time <iso>', 'when it is asked, such as 2026-06-21T16:00:00Z; else now', timeOption)
    .addOption(
      new Option('--format <format>', 'for a person, or a JSON object for each question')
        .choices(['text', 'json'])
        .default('text'),
    )
    .addHelpText('after', examples)
    .action(async (words: string[], flags: AskFlags) => {
      await ask(words.join(' ').trim(), flags, edges)
    })
}

async function ask(question: string, flags: AskFlags, edges: Edges): Promise<void> {
  const clock = flags.time === undefined ? edges.clock : clockAt(edges.clock, flags.time)
  const config =
    flags.config === undefined ? parseConfig('', 'defaults') : await loadConfig(flags.config)
  const folder = flags.config === undefined ? '.' : dirname(flags.config)
  const to = addresseeAsked(flags.to, config)
  const open = createServices(
    serviceOptions(config, folder, clock, (event) => {
      for (const line of serviceEventWords(event)) edges.stderr.write(`${harmlessText(line)}\n`)
    }),
  )
  let reader: StoreReader | undefined
  try {
    reader = flags.config === undefined ? undefined : openReader(config, folder, clock)
    await open.ready
    const event = await eventOf(config, folder, { clock, reader, edges, wordings: open.wordings })
    open.add(event?.services ?? [])
    const known = { wordings: open.wordings, names: event?.names }
    const world = askWorld(config, clock, reader, known)
    const answer = async (text: string): Promise<void> => {
      const asked = { id: `ask-${randomId(edges.random)}`, from: flags.from, text }
      const offer = offerOf(to, open.services, open.vocabulary)
      const context = world.contextFor(flags.from, flags.at, offer.services)
      const query = queryAnswer(
        asked,
        {
          ...{ call: config.station.call, wallMs: clock.wallMs() },
          wording: open.wordings.of(config.station.language),
        },
        reader,
      )
      const dispatched = query ?? (await dispatch(asked, offer, context))
      const mail = world.collectedBy(asked.id)
      const withoutConfig = flags.config === undefined
      const exchange = { ...asked, dispatched, mail, besides: world.besides(), withoutConfig }
      edges.stdout.write(flags.format === 'json' ? jsonOf(exchange) : wordsOf(exchange))
      if (dispatched.fault === undefined) return
      edges.stderr.write(harmlessText(`ridgepost: ${dispatched.keyword}: ${dispatched.fault}`))
      edges.stderr.write('\n')
      edges.setExitCode(1)
    }
    if (question !== '') await answer(question)
    else await eachLine(edges, answer)
  } finally {
    reader?.close()
    await open.close()
  }
}

/** The event as the running node has it; names that are given here are kept nowhere. Loaded only where it is configured. */
async function eventOf(
  config: Config,
  folder: string,
  {
    clock,
    reader,
    edges,
    wordings,
  }: { clock: Clock; reader: StoreReader | undefined; edges: Edges; wordings: Wordings },
): Promise<AskedEvent | undefined> {
  if (config.event.name === '') return undefined
  const { askedEvent } = await import('./askEvent.js')
  return askedEvent(config, folder, {
    ...{ clock, reader, wording: wordings.of(config.station.language) },
    onFault: (text) => void edges.stderr.write(`${harmlessText(text)}\n`),
  })
}

/** @throws Failure for a name that the node does not answer to */
function addresseeAsked(name: string | undefined, { station, node }: Config): AddresseeKind {
  const own = { call: station.call, aliases: node.alias }
  const to = name === undefined ? ({ kind: 'us' } as const) : addresseeOf(name, own)
  if (to.kind === 'us' || to.kind === 'alias') return to
  throw new Failure({
    code: 'ask-addressee',
    subject: '--to',
    got: `"${name}"`,
    expected: [station.call, ...node.alias.map((alias) => alias.name)].join(', '),
    advice: 'name one of them, or add it as [[node.alias]]',
  })
}

/** The node's own database, if it has run already. */
function openReader(config: Config, folder: string, clock: Clock): StoreReader | undefined {
  const { file } = storeOptions(config, folder, clock, () => {})
  return existsSync(file) ? openStoreReader(file, () => clock.wallMs()) : undefined
}

/** A clock that says it is another time and goes on from there. */
function clockAt(clock: Clock, wallMs: number): Clock {
  const aheadMs = wallMs - clock.wallMs()
  return {
    monotonicMs: () => clock.monotonicMs(),
    wallMs: () => clock.wallMs() + aheadMs,
    at: (...timer) => clock.at(...timer),
  }
}

async function eachLine(edges: Edges, answer: (text: string) => Promise<void>): Promise<void> {
  const { stdin, stderr } = edges
  const isTerminal = (stdin as { isTTY?: boolean }).isTTY === true
  const lines = createInterface({ input: stdin, terminal: false })
  const prompt = (): void => {
    if (isTerminal) stderr.write('ask> ')
  }
  prompt()
  for await (const line of lines) {
    if (line.trim() !== '') await answer(line.trim())
    prompt()
  }
}

interface Exchange {
  readonly from: string
  readonly text: string
  readonly dispatched: Dispatched
  /** what the node would send besides the answer */
  readonly mail: readonly WaitingMessage[]
  /** what a service has sent to others, or posted */
  readonly besides: readonly Besides[]
  /** there is no node whose data it could have */
  readonly withoutConfig: boolean
}

const mailText = ({ from, text }: WaitingMessage): string =>
  splitAnswer([{ asSent: `${from}: ${text}` }], { messagesMax: 1 })[0] ?? ''

/** Each message with its length, as a radio would show it. */
function wordsOf({ from, text, dispatched, mail, besides, withoutConfig }: Exchange): string {
  const line = (message: string): string =>
    `  ${String(characterCount(message)).padStart(2)}/${messageCharactersMax}  ${harmlessText(message)}\n`
  const own = mail.map(mailText).map(line)
  const others = besides.map(
    ({ to, text: told }) =>
      `  ${to === undefined ? '(on the board)' : `(to ${to})`} ${harmlessText(told)}\n`,
  )
  const remark = withoutConfig
    ? ["  (without --config: no node's data, and nothing that one heard)\n"]
    : []
  const answered = [...dispatched.messages.map(line), ...own, ...others, ...remark].join('')
  return `${from}: ${harmlessText(text)}\n${answered}`
}

function jsonOf({ from, text, dispatched, mail, besides, withoutConfig }: Exchange): string {
  const messages = [...dispatched.messages, ...mail.map(mailText)].map((message) => ({
    text: message,
    length: characterCount(message),
  }))
  const { keyword = null, fault } = dispatched
  const said = {
    from,
    question: text,
    keyword,
    messages,
    ...(besides.length === 0 ? {} : { besides }),
    ...(withoutConfig ? { withoutConfig } : {}),
    ...(fault === undefined ? {} : { fault }),
  }
  return `${harmlessJson(JSON.stringify(said))}\n`
}

function callOption(text: string): string {
  const call = parseCall(text)
  if (call === undefined) throw new InvalidArgumentError('Expected a call sign such as N0CALL-7.')
  return call
}

function placeOption(text: string): GeoPosition {
  const cell = parseLocator(text)
  if (cell !== undefined) return cell.centre
  const found = /^\s*(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)\s*$/.exec(text)
  const [latitudeDeg, longitudeDeg] = [Number(found?.[1] ?? NaN), Number(found?.[2] ?? NaN)]
  if (found === null || !isPosition(latitudeDeg, longitudeDeg))
    throw new InvalidArgumentError(
      'Expected LAT,LON in degrees, such as 45.25,-36.70, or a locator.',
    )
  return { latitudeDeg, longitudeDeg }
}

function timeOption(text: string): number {
  const wallMs = Date.parse(text)
  if (!/^\d{4}-\d{2}-\d{2}/.test(text) || Number.isNaN(wallMs))
    throw new InvalidArgumentError('Expected a date and time, such as 2026-06-21T16:00:00Z.')
  return wallMs
}
