import { formatAcknowledgement, formatMessage, formatRejection } from '../../src/aprs/format.js'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { addressOf } from './person.js'

/** What the hostile station knows of the world. */
export interface HostileView {
  readonly nodeCall: string
  readonly secondCall: string
  readonly calls: readonly string[]
  /** frames that were on the air lately, of anybody */
  readonly overheard: readonly Uint8Array[]
}

/** One frame that is meant to do harm. */
export function hostileFrame(seed: number, view: HostileView): Uint8Array {
  const random = seededRandom(seed)
  const act = acts[Math.floor(random() * acts.length)]!
  return act(random, view).subarray(0, 400)
}

type Act = (random: Random, view: HostileView) => Uint8Array

const pick = <Value>(random: Random, values: readonly Value[]): Value =>
  values[Math.floor(random() * values.length)]!
const whole = (random: Random, below: number): number => Math.floor(random() * below)
const text = (value: string): Uint8Array => new Uint8Array(Buffer.from(value, 'latin1'))

const ownCall = 'Q9BAD-3'

function frame(source: string, payload: Uint8Array, path: readonly string[] = []): Uint8Array {
  return encodeFrame(
    uiFrame({
      source: addressOf(source),
      destination: addressOf('APZ666'),
      path: path.map(addressOf),
      payload,
    }),
  )
}

/** A question, by whomever. */
const question = (random: Random, { nodeCall }: HostileView): Uint8Array =>
  formatMessage({
    addressee: nodeCall,
    text: pick(random, [
      'help',
      'heard',
      'clock',
      'collect',
      'board',
      'where Q9BAD',
      'gfhj',
      'post rubbish here',
    ]),
    number: String(10_000 + whole(random, 80_000)),
  })

/** Any octet of it is another one, or some are missing, or too many. */
function mutated(random: Random, octets: Uint8Array): Uint8Array {
  const copy = new Uint8Array(octets)
  const count = 1 + whole(random, 4)
  for (let index = 0; index < count && copy.length > 0; index++) {
    const at =
      random() < 0.5 ? whole(random, Math.min(copy.length, 32)) : whole(random, copy.length)
    const how = random()
    if (how < 0.5) copy[at] = whole(random, 256)
    else if (how < 0.8) copy[at] = copy[at]! ^ (1 << whole(random, 8))
    else copy[at] = pick(random, [0, 1, 0x0d, 0x20, 0x3a, 0x7b, 0x7d, 0x7f, 0x80, 0xff])
  }
  const cut = random()
  if (cut < 0.15) return copy.subarray(0, whole(random, copy.length + 1))
  if (cut < 0.25) return Buffer.concat([copy, copy.subarray(0, whole(random, 200))])
  return copy
}

/** A digipeater field that is not a call sign, marked as one that has repeated. */
function withOddWay(random: Random, octets: Uint8Array): Uint8Array {
  const names = [
    '      ',
    'DI G  ',
    'DIG/1 ',
    'digi  ',
    '-     ',
    '\u0000\u0001\u0002   ',
    'WIDE1 ',
  ]
  return withRepeater(octets, pick(random, names), whole(random, 16))
}

/** @param name six characters, right or not */
function withRepeater(octets: Uint8Array, name: string, ssidNumber: number): Uint8Array {
  const field = Buffer.from([...text(name)].map((octet) => (octet << 1) & 0xfe))
  const ssid = 0x80 | 0x60 | (ssidNumber << 1) | 1
  const head = Buffer.from(octets.subarray(0, 14))
  head[13] = head[13]! & 0xfe
  return Buffer.concat([head, field, Buffer.from([ssid]), octets.subarray(14)])
}

/** One of each payload type, which mutation then changes. */
const payloads: readonly string[] = [
  '!4903.50N/07201.75W-Test 001234',
  '=/5L!!<*e7> sTcomment',
  '@092345z4903.50N/07201.75W>088/036',
  '/092345h4903.50N/07201.75W_090/000g005t077r000p000P000h50b09900',
  '_10090556c220s004g005t077r000p000P000h50b09900wRSW',
  '`(_fn"Oj/"4T}comment',
  "'(_f l!>/]",
  ';LEADER   *092345z4903.50N/07201.75W>088/036',
  ')AID #2!4903.50N/07201.75WA',
  '>Net Control Center',
  'T#005,199,000,255,073,123,01101001',
  ':Q0HUT-10 :PARM.Battery,Btemp,ATemp,Pres',
  ':Q0HUT-10 :?APRSD{12',
  ':Q0HUT-10 :?APRST',
  '?APRS? 34.02,-117.15,0200',
  '?WX?',
  ':BLN3     :Snow expected',
  '$GPRMC,063909,A,3349.4302,N,11700.3721,W,43.022,89.3,291099,13.6,E*52',
  '}Q0AAA-7>APRS,TCPIP,Q0HUT-10*::Q0HUT-10 :help{7',
  '<IGATE,MSG_CNT=43,LOC_CNT=14',
  '{Q1qwerty',
  ',191146,V,4214.2466,N,07303.5181,W,417.238,114.5,091099,14.7,W/GPS FIX',
  '%test',
  '[IO91SX] my locator',
  ':Q0HUT-10 :\u001b[2Jescape{1',
  ':Q0HUT-10 :leave Q0AAA-7 \u00ff\u00fe\u00c3{2',
  ':Q0HUT-10 :hold 000000{3',
  ':Q0HUT-10 :release 123456{4',
]

const acts: readonly Act[] = [
  (random, view) => mutated(random, overheardOr(random, view)),
  (random) => frame(ownCall, text(pick(random, payloads)), random() < 0.3 ? ['WIDE1-1'] : []),
  (random) => frame(ownCall, mutated(random, text(pick(random, payloads)))),
  // as if by somebody else, by a way that there is not
  (random, view) => withOddWay(random, frame(pick(random, view.calls), question(random, view))),
  (random, view) => withOddWay(random, overheardOr(random, view)),
  // as if the node itself had repeated it
  (random, view) => {
    const [call = '', ssid] = view.nodeCall.split('-')
    const source = random() < 0.5 ? ownCall : pick(random, view.calls)
    return withRepeater(frame(source, question(random, view)), call.padEnd(6), Number(ssid))
  },
  (random, view) => frame(pick(random, view.calls), question(random, view)),
  // as the node itself
  (random, view) => frame(view.nodeCall, question(random, view)),
  (random, view) => frame(ownCall, question(random, view), [view.nodeCall]),
  (random, view) => overheardOr(random, view),
  (random, view) => overheardOr(random, view),
  // what nobody asked for
  (random, view) => {
    const format = random() < 0.5 ? formatAcknowledgement : formatRejection
    return frame(ownCall, format({ addressee: view.nodeCall, number: String(whole(random, 1000)) }))
  },
  (random, view) => frame(ownCall, question(random, view)),
  (random) => new Uint8Array(Array.from({ length: whole(random, 330) }, () => whole(random, 256))),
]

function overheardOr(random: Random, view: HostileView): Uint8Array {
  return view.overheard.length > 0
    ? pick(random, view.overheard)
    : frame(ownCall, question(random, view))
}

/** Short frames, one behind the other, for half a minute or more. */
export function floodFrames(seed: number, view: HostileView): Uint8Array[] {
  const random = seededRandom(seed)
  const base = whole(random, 50_000)
  return Array.from({ length: 40 + whole(random, 120) }, (_, index) => {
    const number = String((base + index) % 99_999)
    const payload = formatMessage({
      addressee: view.nodeCall,
      text: random() < 0.5 ? 'help' : 'zz',
      number,
    })
    const source =
      random() < 0.5
        ? ownCall
        : `Q9B${String.fromCharCode(65 + whole(random, 26))}D-${1 + whole(random, 14)}`
    return frame(source, payload)
  })
}

/** A question that makes the node speak to another machine. */
export function loopFrame(seed: number, { nodeCall, secondCall }: HostileView): Uint8Array {
  const random = seededRandom(seed)
  const [source, addressee] = random() < 0.5 ? [secondCall, nodeCall] : [nodeCall, secondCall]
  const number = String(10_000 + whole(random, 80_000))
  return frame(source, formatMessage({ addressee, text: 'what is this', number }))
}

/** A good question in a frame that needed two bits of repair. */
export function misreadFrame(id: number, { nodeCall }: HostileView): Uint8Array {
  const payload = formatMessage({ addressee: nodeCall, text: 'help', number: String(id % 99_999) })
  return frame(`Q8M${letters(id)}-1`, payload)
}

export function letters(count: number): string {
  const letter = (at: number): string => String.fromCharCode(65 + (at % 26))
  return letter(Math.floor(count / 676)) + letter(Math.floor(count / 26)) + letter(count)
}
