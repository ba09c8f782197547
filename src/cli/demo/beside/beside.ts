import { mkdirSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import type { Config } from '../../../config/schema.js'
import type { TelemetryChannel } from '../../../node/beaconOptions.js'
import type { Clock } from '../../../runtime/clock.js'
import type { Story } from '../../../simulation/story.js'

/** Something that happened beside the air, since the beginning. */
export interface StoryNote {
  readonly atMs: number
  readonly who: string
  readonly text: string
}

/** What stands beside a story's nodes: a mail server and a maildir, a broker, instruments. Real ones, on this machine alone. */
export interface Beside {
  /** the configuration with the places where these are */
  configOf(config: Config): Config
  readonly telemetry: readonly TelemetryChannel[]
  /** Has the story's clock wait while this goes on: it takes the machine's time. */
  during<Value>(work: Promise<Value>): Promise<Value>
  /** Settles once nothing of that goes on, and a step of the story is over. */
  settled(): Promise<void>
  /** Nothing is to come any more. */
  readonly isIdle: boolean
  close(): Promise<void>
}

/** Where there is a broker, a step of the story takes that long at least: what goes by it takes the machine's time. */
const brokerStepMs = 1

/** @param folder where the story leaves files */
export async function openBeside(parts: {
  readonly story: Story
  readonly folder: string
  readonly clock: Clock
  readonly note: (who: string, text: string) => void
  readonly hasBroker: boolean
}): Promise<Beside> {
  const { story, clock, note } = parts
  const closers: (() => Promise<void>)[] = []
  let goingOn = 0
  const mailPort = story.mailServer && (await openMail(parts, story.mailServer.fromS, closers))
  const brokerPort = parts.hasBroker ? await openStoryBroker(closers) : undefined
  const inbox = story.mail.length > 0 ? bookMail(story, clock, parts.folder, note) : undefined
  const lastMs = 1000 * Math.max(0, ...[...story.mail, ...story.reading].map(({ atS }) => atS))

  return {
    telemetry: channelsOf(story, clock, note),
    configOf: (config) => ({
      ...config,
      email: {
        ...config.email,
        ...(mailPort !== undefined && {
          server: { ...config.email.server, host: '127.0.0.1', port: mailPort },
        }),
        ...(inbox !== undefined && { inbox: { ...config.email.inbox, folder: inbox } }),
      },
      ...(brokerPort !== undefined && {
        broker: { ...config.broker, host: '127.0.0.1', port: brokerPort },
      }),
    }),
    during(work) {
      goingOn++
      return work.finally(() => {
        goingOn--
      })
    },
    async settled() {
      if (brokerPort !== undefined) await later(brokerStepMs)
      while (goingOn > 0) await later(1)
    },
    get isIdle() {
      return clock.monotonicMs() > lastMs
    },
    async close() {
      for (const close of closers) await close()
    },
  }
}

const later = (ms: number): Promise<void> => new Promise((resume) => setTimeout(resume, ms))

async function openMail(
  { clock, note }: { readonly clock: Clock; readonly note: (who: string, text: string) => void },
  fromS: number,
  closers: (() => Promise<void>)[],
): Promise<number> {
  const { startMailServer } = await import('./mailServer.js')
  const isLinked = (): boolean => clock.monotonicMs() >= fromS * 1000
  const server = await startMailServer(isLinked, (mail) => note('the mail server gets', mail))
  clock.at(fromS * 1000, () => note('the link', 'is there: the mail server can be reached'))
  closers.push(() => server.close())
  return server.port
}

async function openStoryBroker(closers: (() => Promise<void>)[]): Promise<number> {
  const { startBroker } = await import('./broker.js')
  const broker = await startBroker()
  closers.push(() => broker.close())
  return broker.port
}

/** @returns the maildir, into which the story's mails come */
function bookMail(
  story: Story,
  clock: Clock,
  folder: string,
  note: (who: string, text: string) => void,
): string {
  const inbox = resolve(folder, `maildir-${story.seed}`)
  for (const name of ['new', 'cur', 'tmp']) mkdirSync(join(inbox, name), { recursive: true })
  for (const [number, { atS, from, to, subject, text }] of story.mail.entries())
    clock.at(atS * 1000, () => {
      const lines = [`From: ${from}`, `To: ${to}`, `Subject: ${subject}`]
      const id = `Message-ID: <${number}.${clock.wallMs()}@story.example>`
      writeFileSync(join(inbox, 'new', `${number}`), [...lines, id, '', text, ''].join('\r\n'))
      note('the maildir gets', [...lines, '', text].join('\n'))
    })
  return inbox
}

/** A channel for each name; unknown until its first reading. */
function channelsOf(
  { reading }: Story,
  clock: Clock,
  note: (who: string, text: string) => void,
): TelemetryChannel[] {
  const values = new Map<string, number | undefined>(
    reading.map(({ channel }) => [channel, undefined]),
  )
  for (const { atS, channel, value } of reading)
    clock.at(atS * 1000, () => {
      values.set(channel, value)
      note('measured', `${channel} ${value}`)
    })
  return [...values.keys()].map((name) => ({
    ...{ name, unit: '', step: 0.1, offset: 0 },
    read: () => values.get(name),
  }))
}
