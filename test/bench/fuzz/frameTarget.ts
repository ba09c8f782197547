import { fileURLToPath } from 'node:url'
import { encodeFrame } from '../../../src/ax25/frame.js'
import { parseLine } from '../../../src/ax25/line.js'
import { type Random, seededRandom } from '../../../src/runtime/random.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import type { NodeEvent } from '../../../src/store/events.js'
import { TestPort } from '../../node/testNode.js'
import type { Target } from './engine.js'
import { mutate } from './mutate.js'
import type { Load } from './seeds.js'

const call = 'N0DE-10'
const hilltop = fileURLToPath(new URL('../../../samples/hilltop/node.toml', import.meta.url))

/** What says that a frame got to a service, the mailbox or the outbox. */
const reaching: readonly NodeEvent['kind'][] = [
  ...(['asked', 'acknowledged', 'rejected', 'left', 'posted', 'delivered'] as const),
]

const toUs = [
  ...[
    'help',
    'help pass',
    'repeaters 2',
    'conditions',
    'pass',
    'pass next',
    'sun',
    'heard',
    'where Q1BAA-1',
    'signal',
  ],
  ...[
    'leave Q2BAA-2 back by nine',
    'collect',
    'board',
    'post EMERGENCY exercise',
    'find water',
    'clock',
    'SOS',
    'mayday drill',
  ],
  ...[
    'ack1',
    'ack100',
    'rej1',
    'ackAA',
    '?APRSD',
    '?APRSH Q1BAA',
    '?PING?',
    '?APRSS',
    '?APRST',
    'AA: not here',
    '',
  ],
]
const lines = [
  ...toUs.map((text, at) => `Q${at % 10}BAA-1>APZ001::${call.padEnd(9)}:${text}{${at}`),
  ...toUs.map((text, at) => `Q${at % 10}BAA-2>APZ001,Q1DIG-1*,WIDE2-1::${call.padEnd(9)}:${text}`),
  'Q1BAA>APZ001::N0DE-10  :help{AB}CD',
  'Q1BAA>APZ001:!4512.00N/03642.00W>EMERGENCY',
  'Q1BAA>332T6T:`(_fn"Oj/',
  'Q1BAA>S32U6T:`(_fn"Oj/]"4V}status=',
  'Q1BAA>APZ001:;OBJECT   *111111z4512.00N/03642.00W>object',
  'Q1BAA>APZ001:)ITEM!4512.00N/03642.00W>item',
  'Q1BAA>APZ001:>122345zstatus of a station',
  'Q1BAA>APZ001:T#005,199,000,255,073,123,01101001',
  'Q1BAA>APZ001::Q1BAA    :PARM.Battery,BTemp,AirTemp',
  'Q1BAA>APZ001::BLN3     :a bulletin',
  'Q1BAA>APZ001:_10090556c220s004g005t077r000p000P000h50b09900',
  'Q1BAA>APZ001:@092345z4512.00N/03642.00W_220/004g005t-07r000p000P000h50b09900',
  'Q1BAA>APZ001:=/5L!!<*e7>7P[compressed',
  'Q1BAA>APZ001:$GPRMC,063909,A,3349.4302,N,11700.3721,W,43.022,89.3,291099,13.6,E*52',
  'Q1BAA>APZ001:}Q7CDE>APZ001,TCPIP,Q1BAA*::N0DE-10  :help{1',
  'Q1BAA>APZ001:?APRS? 34.02,-117.15,0200',
  'Q1BAA>APZ001:<IGATE,MSG_CNT=30,LOC_CNT=61',
  'Q1BAA>APZ001:{Q1qwerty',
]
const words = [
  ...toUs.map((text) => `:${call.padEnd(9)}:${text}`),
  ...[
    '{',
    '{1',
    '{AB}CD',
    '}',
    '|',
    '~',
    ':',
    ':N0DE-10  :',
    ':ALL      :',
    '?',
    'ack',
    'rej',
    '\r',
    '\0',
    'EMERGENCY',
    'sos ',
  ],
  ...[
    '!4512.00N/03642.00W',
    '`',
    '>',
    ';',
    ')',
    '_',
    '@092345z',
    '/A=001234',
    '!w!',
    '\xc3\xa4',
    '\xe2\x82\xac',
    '\x1b[',
  ],
]

/** Frames into the whole node: its real store, services and conversations, on a virtual clock. */
export async function frameTarget(load: Load, seed: number): Promise<Target> {
  const { createNode } = await load<typeof import('../../../src/node/node.js')>('src/node/node.ts')
  const { openStore } =
    await load<typeof import('../../../src/store/store.js')>('src/store/store.ts')
  const { createServices } =
    await load<typeof import('../../../src/services/all.js')>('src/services/all.ts')
  const { loadConfig } =
    await load<typeof import('../../../src/config/load.js')>('src/config/load.ts')
  const { serviceOptions } = await load<typeof import('../../../src/setup/serviceOptions.js')>(
    'src/setup/serviceOptions.ts',
  )
  const { nodeOptions } = await load<typeof import('../../../src/setup/nodeOptions.js')>(
    'src/setup/nodeOptions.ts',
  )
  const clock = virtualClock(1_795_000_000_000)
  const config = await loadConfig(hilltop)
  const folder = fileURLToPath(new URL('.', `file://${hilltop}`))
  const all = serviceOptions(config, folder, clock, () => {})
  // Own ones have threads of their own, for which a virtual clock runs too fast.
  const services = createServices({ ...all, own: { ...all.own, folder: '' } })
  await services.ready
  const faults: string[] = []
  const store = openStore({
    ...{ file: ':memory:', clock, stationsMax: 300 },
    onFault: ({ message }) => faults.push(message),
    retention: { keepMs: 86_400_000, keepStationsMs: 86_400_000, sizeBytesMax: 50e6 },
  })
  const port = new TestPort(clock)
  let reached = false
  let reachedCount = 0
  let id = 0
  const node = createNode({
    ...{ ports: [port], clock, store, services: services.services },
    random: seededRandom(seed),
    nextId: () => `f${++id}`,
    options: { ...nodeOptions(config), call },
    onEvent({ kind, text, reason }) {
      if (kind === 'fault') faults.push(`${text} (${reason})`)
      if (reaching.includes(kind)) reached = true
    },
  })
  node.start()
  const hear = (line: string): void => port.hear(frameOf(line))
  let polite = 0
  return {
    name: 'frames',
    seeds: lines.map(frameOf),
    words,
    mutate: changeFrame,
    async run(input) {
      reached = false
      port.hear(input)
      await clock.advanceToAsync(clock.monotonicMs() + 1_000)
      if (reached) reachedCount++
      if (port.sent.length > 50) port.sent.length = 0
      const [fault] = faults.splice(0)
      if (fault !== undefined) throw new Error(`a fault: ${fault}`)
    },
    /** A polite stranger is still answered within two minutes. */
    async check() {
      await clock.advanceToAsync(clock.monotonicMs() + 1_200_000)
      port.sent.length = 0
      // SSID 0 is not written.
      const stranger = `Q0POL-${1 + (++polite % 15)}`
      hear(`${stranger}>APZ001::${call.padEnd(9)}:clock{${polite}`)
      await clock.advanceToAsync(clock.monotonicMs() + 120_000)
      const answers = port.sent.filter(({ line }) => line.includes(`::${stranger.padEnd(9)}:`))
      if (!answers.some(({ line }) => line.includes('UTC')))
        throw new Error(`${stranger} got no answer: ${answers.map(({ line }) => line).join(' / ')}`)
    },
    get reachedCount() {
      return reachedCount
    },
  }
}

function frameOf(line: string): Uint8Array {
  const parsed = parseLine(line)
  if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
  return encodeFrame(parsed.frame)
}

/** Mostly the information alone is changed: a frame whose addresses are none ends before anything is understood of it. */
function changeFrame(input: Uint8Array, other: Uint8Array, random: Random): Uint8Array {
  const addresses = informationAt(input)
  const share = random()
  if (share < 0.15 || addresses === undefined) return mutate(input, { random, words, other })
  // behind the addressee, mostly
  const isMessage = input[addresses] === 0x3a && input.length > addresses + 11
  const from = isMessage && share < 0.75 ? addresses + 11 : addresses
  const octets = mutate(input, {
    random,
    words,
    other: other.subarray(informationAt(other) ?? 0),
    from,
  })
  // somebody else each time: no station asks for ever
  octets[8] = (65 + Math.floor(26 * random())) << 1
  octets[9] = (65 + Math.floor(8 * random())) << 1
  return octets.subarray(0, 400)
}

/** Where the information begins; undefined for what is no unnumbered information frame. */
function informationAt(octets: Uint8Array): number | undefined {
  const last = octets.findIndex((octet, at) => at % 7 === 6 && (octet & 1) === 1)
  return last >= 13 && octets[last + 1] === 0x03 ? last + 3 : undefined
}
