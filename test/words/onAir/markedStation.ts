import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, vi } from 'vitest'
import { encodeFrame } from '../../../src/ax25/frame.js'
import { parseLine } from '../../../src/ax25/line.js'
import type { RunLog } from '../../../src/cli/run/runLog.js'
import { openRunningNode, type RunningNode } from '../../../src/cli/run/runNode.js'
import { loadConfig } from '../../../src/config/load.js'
import { writeControlFile } from '../../../src/control/controlFile.js'
import { counterCode } from '../../../src/control/oneTimeCode.js'
import { type HeardFrame, type Hold, heldReason, type PortState } from '../../../src/radio/port.js'
import type { ChannelAccess, RadioPort } from '../../../src/radio/radioPort.js'
import type { DutyReport } from '../../../src/radio/radioWatch.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'
import { english } from '../../../src/words/air/english/all.js'
import { PlainPeer } from '../../node/connected/plainPeer.js'
import { TestPort } from '../../node/testNode.js'

/** Each letter of a text, but of what stands in its braces, becomes an x: what is not of the language's texts is seen at once. */
export const marked = (text: string): string =>
  text.replace(/\{\w+\}|[a-z]|[A-Z]/g, (one) =>
    one.length > 1 ? one : one === one.toLowerCase() ? 'x' : 'X',
  )

/** All that is said on the air, in a language of a club in which nobody can say anything but x. */
const markedLanguage = (): string =>
  `language = "xx"\n[texts]\n${Object.entries(english)
    .map(([name, text]) => `${name} = ${JSON.stringify(marked(text))}\n`)
    .join('')}`

/** Everything of the operator's, and of other people, begins with zz. */
const files: Readonly<Record<string, string>> = {
  'repeaters.csv':
    'name,call,output MHz,offset MHz,tone,latitude,longitude,mode\n' +
    'Zzknob,Q1ASH,146.940,-0.6,100.0,45.2310,-36.7420,FM\n' +
    'Zzrock,Q1GAN,146.760,-0.6,D023N,45.0412,-36.9127,FM\n',
  'places.csv': 'name,latitude,longitude,other names\nZzhut,45.5210,-36.7402,\n',
  'elements.txt': readFileSync('samples/hilltop/elements.txt', 'utf8').replace(
    /^(?!#|[12] )(\w+)/gm,
    'ZZ$1',
  ),
  'cards/zz.md': '# Zzlost\nKeywords: zzrescue\nZzstay where zzyou zzare.\n'.replace('where ', ''),
  'names.csv':
    'name,call,list\nZZNET,Q1NET-1,\nZZONE,Q1ABC-7,ZZALLMEN\nZZTWO,Q1DEF-7,ZZALLMEN\nZZFREE,,ZZALLMEN\n',
  'weather.json':
    '{"temperatureC": 21.5, "windSpeedMps": 5, "windDirectionDeg": 270, "pressureHpa": 1013.2, "humidityPercent": 60, "rain1hMm": 1.2}',
  'forecast.txt': 'until 2026-06-22 06:00\nZzrain zzsoon',
  'node.toml': `[station]
call = "N0CALL-10"
latitudeDeg = 45.2310
longitudeDeg = -36.7420
language = "xx"
[transmit]
enabled = true
[store]
file = ":memory:"
[node]
questionsPerStation = 1000
mailbox = { perSender = 3 }
[emergency]
words = ["sos"]
exerciseWords = ["zzdrill"]
[services]
languageFile = "language.toml"
[services.conditions]
instrument = "file"
path = "weather.json"
readingAgeMaxMinutes = 1440
forecastFile = "forecast.txt"
[services.repeaters]
file = "repeaters.csv"
[services.pass]
file = "elements.txt"
[services.places]
file = "places.csv"
[services.find]
folder = "cards"
[control]
file = "control.json"
[connected]
enabled = true
[email]
enabled = true
from = "zz@zz.example"
senders = ["N0CALL"]
receivers = ["*@zz.example"]
[email.server]
host = "localhost"
port = 1
[event]
name = "zzwalk"
from = "2026-06-21 15:00"
to = "2026-06-21 23:30"
exercise = true
names = "names.csv"
status = "zzstatus"
announcements = ["zzannounced"]
services = ["board"]
[beacons]
comment = "zzcomment"
nearestRepeaters = 2
[[beacons.schedule]]
send = "services"
everyMinutes = 30
[[beacons.schedule]]
send = "announcements"
everyMinutes = 30
[[beacons.schedule]]
send = "notices"
everyMinutes = 30
[[beacons.schedule]]
send = "status"
everyMinutes = 30
[[beacons.schedule]]
send = "objects"
everyMinutes = 30
[alerts]
to = ["Q1OPS-7"]
[[alerts.rule]]
name = "zzhelp"
when = "emergency"
[[alerts.rule]]
name = "zzheld"
when = "held"
forHours = 0.1
[[alerts.rule]]
name = "zzheard"
when = "heard"
station = "Q1ABC-7"
[[alerts.rule]]
name = "zzsilent"
when = "not-heard"
station = "Q1DIG-1"
forHours = 0.2
[[alerts.rule]]
name = "zzdisk"
when = "disk-below"
value = 1e12
`,
}

const secret = new Uint8Array(20).fill(7)

/** A radio that can be held, and that no limit keeps from sending while it is. */
class HeldPort extends TestPort implements RadioPort {
  override readonly name = 'zzradio' as never
  readonly held = new Map<string, Hold>()
  hold(source: string, reason: string): void {
    this.held.set(source, { source, reason, sinceMs: 0 })
  }
  release(source: string): void {
    this.held.delete(source)
  }
  onEvent(): void {}
  watch(): () => void {
    return () => {}
  }
  sendTone(): void {}
  setAccess(): void {}
  access(): ChannelAccess {
    return { keyDelayMs: 300, tailMs: 0, slotTimeMs: 100, persistence: 63, fullDuplex: false }
  }
  duty(): DutyReport {
    return { limits: [], usedShare: 0 } as unknown as DutyReport
  }
  override state(): PortState {
    const holds = [...this.held.values()]
    const [first] = holds
    return { ...super.state(), holds, transmitBlockedBy: first && heldReason(first) }
  }
}

export interface MarkedStation {
  readonly clock: VirtualClock
  readonly port: HeldPort
  readonly running: RunningNode
  /** a line as the monitor writes it: 'Q1ABC-7>APZ001:>text' */
  hear(line: string, quality?: HeardFrame['quality']): void
  /** @returns what went out until nothing was left to say, numbers taken off, each acknowledged */
  ask(text: string, from?: string): Promise<string[]>
  /** The clock goes on in steps, and what is sent is acknowledged. @returns what was sent */
  wait(seconds: number, stepS?: number): Promise<string[]>
  /** A station connects and types lines. @returns what it was told, by line */
  connected(call: string, lines: readonly string[]): Promise<string[]>
  /** the next of the control operator's codes */
  code(): string
  close(): Promise<void>
}

/** A whole node out of a configuration, as `ridgepost run` opens it, whose language is the marked one. */
export async function markedStation(
  change: (config: string) => string = (config) => config,
): Promise<MarkedStation> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-words-'))
  mkdirSync(join(folder, 'cards'))
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text)
  writeFileSync(join(folder, 'node.toml'), change(files['node.toml']!))
  writeFileSync(join(folder, 'language.toml'), markedLanguage())
  writeControlFile(join(folder, 'control.json'), {
    secrets: [{ call: 'Q1OPS', goesBy: 'counter', secret, counter: 0 }],
    hold: undefined,
  })
  const clock = virtualClock(Date.UTC(2026, 5, 21, 16))
  const port = new HeldPort(clock)
  const faults: string[] = []
  const quiet = { node() {}, radio() {}, note() {}, change() {} }
  const log: RunLog = {
    ...quiet,
    fault: (text) => faults.push(text),
    error: (text) => faults.push(text),
  }
  const configFile = join(folder, 'node.toml')
  let id = 0
  const running = await openRunningNode({
    ...{ config: await loadConfig(configFile), configFile, clock, log },
    ports: [port],
    random: seededRandom(1),
    nextId: () => `r${++id}`,
  })
  expect(faults).toEqual([])
  running.node.start()
  let told = 0
  let peer: PlainPeer | undefined
  let codes = 0

  const hear = (line: string, quality?: HeardFrame['quality']): void => {
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
    port.hear(encodeFrame(parsed.frame), 0, quality)
  }
  const addressed = (from: string, text: string): string =>
    `${from}>APZ001::${'N0CALL-10'.padEnd(9)}:${text}`
  const takeSent = (): string[] => {
    const sent = port.sent.slice(told)
    told = port.sent.length
    for (const { request } of sent) peer?.hear(request.octets)
    const texts = sent
      .filter(({ line }) => peer === undefined || !line.includes(`>${peer.own}:`))
      .map(({ line }) => line.slice(line.indexOf(':') + 1))
    for (const text of texts) {
      const [, to, number] = /^:(\S{3,9}) *:.*\{(\w+)$/.exec(text) ?? []
      if (to !== undefined) hear(addressed(to, `ack${number}`))
    }
    return texts.map((text) => text.replace(/\{\w+$/, ''))
  }
  const wait = async (seconds: number, stepS = 2): Promise<string[]> => {
    const all: string[] = []
    for (let second = 0; second < seconds; second += stepS) {
      await clock.advanceToAsync(clock.monotonicMs() + stepS * 1000)
      all.push(...takeSent())
    }
    return all
  }
  return {
    ...{ clock, port, running, hear, wait },
    async ask(text, from = 'N0CALL-7') {
      hear(addressed(from, text))
      // What a service reads from the disk takes no time of the virtual clock.
      await vi.waitFor(() => expect(running.node.state().openQuestionCount).toBe(0), {
        ...{ timeout: 30_000, interval: 1 },
      })
      return wait(16)
    },
    async connected(call, lines) {
      const caller = new PlainPeer(clock, call, 'N0CALL-10')
      peer = caller.use({
        channelBusy: () => false,
        send: (octets, _urgent, onEnd) => {
          clock.at(clock.monotonicMs() + 200, () => {
            port.hear(octets)
            onEnd()
          })
          return () => {}
        },
      })
      caller.call()
      await wait(12, 1)
      for (const line of lines) {
        caller.say(`${line}\r`)
        await wait(16, 1)
      }
      const { text } = caller
      peer = undefined
      return text.split('\r')
    },
    code: () => counterCode(secret, codes++, 6),
    async close() {
      running.stop()
      await running.release()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
