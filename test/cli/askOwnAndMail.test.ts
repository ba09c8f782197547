import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { askCommand } from '../../src/cli/ask/ask.js'
import { loadConfig } from '../../src/config/load.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { createServices } from '../../src/services/all.js'
import { nodeOptions } from '../../src/setup/nodeOptions.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { type TestNode, testNode } from '../node/testNode.js'
import { runCommand } from './commandBench.js'

/*
 * What askAndNode.test.ts leaves out: services of one's own in their threads, what waits in a real mailbox, and a rehearsal that keeps
 * nothing. Each answer of `ask` is held against what the node sends, octet for octet.
 */
const startMs = Date.UTC(2026, 5, 21, 16)
const from = 'Q1KIT-9'
let folder: string
let config: string
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'ask-own-'))
  const copied = (name: string): void =>
    cpSync(fileURLToPath(new URL(`../../samples/${name}`, import.meta.url)), join(folder, name), {
      recursive: true,
    })
  copied('hilltop')
  copied('services')
  const own = join(folder, 'services')
  writeFileSync(
    join(own, 'power.json'),
    '{"batteryV":12.64,"solarW":45,"time":"2026-06-21T15:40:00Z"}',
  )
  writeFileSync(
    join(own, 'many.mjs'),
    `export default { keyword: 'many', summary: 'of several messages', usage: 'many', messagesMax: 10,
      answer: ({ words, from }, { data, send }) => {
        if (words[0] === 'count') { data.set('n', (data.get('n') ?? 0) + 1); return 'asked ' + data.get('n') }
        if (words[0] === 'send') { send('Q9AAA', 'hello'); return 'sent for ' + from }
        if (words[0] === 'fail') throw new Error('no')
        if (words[0] === 'accents') return 'Grüße, à bientôt, mañana, perché'
        return words[0] === 'list' ? ['one', 'two', 'x'.repeat(67), 'four'] : 'word '.repeat(60)
      } }\n`,
  )
  mkdirSync(join(folder, 'data'))
  config = join(folder, 'hilltop', 'node.toml')
  const text = readFileSync(config, 'utf8')
    .replace(
      /\[services\.own\][^[]*/,
      '[services.own]\nfolder = "../services"\ntimeLimitS = 60\n\n',
    )
    .replace(/\[store\][^[]*/, '')
  writeFileSync(
    config,
    `${text}\n[store]\nfile = "../data/node.db"\n\n[[node.alias]]\nname = "HUT"\nservices = ["power"]\n`,
  )
})
afterAll(() => rmSync(folder, { recursive: true }))

interface Sent {
  readonly to: string
  readonly text: string
}

/** A thread answers in its own time, the clock of the node stands meanwhile. What has a number is acknowledged. */
async function answered(node: TestNode): Promise<readonly Sent[]> {
  const sent: Sent[] = []
  for (let second = 0; second < 30; second++) {
    await node.wait(1)
    while (node.node.state().openQuestionCount > 0) await new Promise((go) => setTimeout(go, 5))
    for (const line of node.sentTexts()) {
      const [, to = '', text = '', number] = /^:(.{9}):(.*?)(?:\{(\w+))?$/.exec(line)!
      if (number !== undefined) node.hear(`${to.trim()}>APZRPP::N0CALL-10:ack${number}`)
      sent.push({ to: to.trim(), text: fromOctets(text) })
    }
  }
  return sent
}

/** Line notation writes octets outside of ASCII as %HH. */
const fromOctets = (text: string): string =>
  Buffer.from(
    text.replace(/%([0-9A-F]{2})/g, (_, hex: string) =>
      String.fromCharCode(Number.parseInt(hex, 16)),
    ),
    'latin1',
  ).toString('utf8')

const textsTo = (sent: readonly Sent[], call: string): readonly string[] =>
  sent.filter(({ to }) => to === call).map(({ text }) => text)

interface Said {
  readonly messages: readonly string[]
  /** what would be sent to others */
  readonly besides: readonly Sent[]
}

async function askSays(texts: readonly string[], clock: VirtualClock, to = 'N0CALL-10') {
  const stdin = new PassThrough()
  stdin.end(texts.map((text) => `${text}\n`).join(''))
  const flags = ['--config', config, '--from', from, '--to', to, '--format', 'json']
  const { stdout } = await runCommand(askCommand, flags, { clock, stdin })
  return stdout
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as { messages: { text: string }[]; besides?: Sent[] })
    .map(
      ({ messages, besides = [] }): Said => ({
        messages: messages.map(({ text }) => text),
        besides,
      }),
    )
}

it('services of one’s own, by their keywords and at a name with one of them', async () => {
  const clock = virtualClock(startMs)
  const options = nodeOptions(await loadConfig(config))
  const open = createServices(
    serviceOptions(await loadConfig(config), folderOf(config), clock, () => {}),
  )
  await open.ready
  const asked: readonly (readonly [to: string, texts: readonly string[]])[] = [
    [
      'N0CALL-10',
      [
        ...[
          'tide',
          'tide saltwick',
          'tide nowhere',
          'power',
          'power day',
          'strom',
          'roster',
          'duty',
        ],
        ...['roster add sat 18:00', 'checkpoint 12', 'checkpoint 12 coldwell', 'many', 'many list'],
        ...['many count', 'many send', 'many fail', 'many accents', 'help', 'help many', 'tdie'],
      ],
    ],
    ['HUT', ['power', 'hello', 'day', '?', 'x']],
  ]
  for (const [to, texts] of asked) {
    const said = await askSays(texts, virtualClock(startMs), to)
    expect(said).toHaveLength(texts.length)
    for (const [at, text] of texts.entries()) {
      // A node of its own for each: what one question keeps is no matter of the next.
      const node = testNode({ services: open.services, clock: virtualClock(startMs), options })
      node.hear(`${from}>APZRPP::${to.padEnd(9)}:${text}`)
      const sent = await answered(node)
      node.node.stop()
      expect(said[at]!.messages, `${to}: ${text}`).toEqual(textsTo(sent, from))
      expect(said[at]!.besides, `${to}: ${text}`).toEqual(sent.filter((one) => one.to !== from))
    }
  }
  await open.close()
}, 240_000)

it('what waits in the mailbox, and nothing of a rehearsal is kept', async () => {
  const clock = virtualClock(startMs)
  const loaded = await loadConfig(config)
  const open = createServices(serviceOptions(loaded, folderOf(config), clock, () => {}))
  await open.ready
  const node = testNode({
    ...{ services: open.services, clock, options: nodeOptions(loaded) },
    file: join(folder, 'data', 'node.db'),
  })
  for (const text of ['kettle is on', 'Grüße vom Grat', 'bring the long rope, and the map'])
    node.hear(`Q1AAA>APZRPP::N0CALL-10:leave ${from} ${text}`)
  await answered(node)
  node.store.flush()
  const texts = [
    'collect',
    'back 20:00 Q1AAA',
    'post Hut is open',
    'leave Q1AAA coming',
    'tell Q1AAA',
  ]
  // Each in an `ask` of its own: one remembers meanwhile what it was told.
  const said: Said[] = []
  for (const text of texts) said.push(...(await askSays([text], virtualClock(clock.wallMs()))))
  expect(said[0]!.messages).toHaveLength(4)
  // Asked of the node afterwards: had a rehearsal kept anything, it would answer otherwise.
  for (const [at, text] of texts.entries()) {
    node.hear(`${from}>APZRPP::N0CALL-10:${text}`)
    expect(textsTo(await answered(node), from), text).toEqual(said[at]!.messages)
  }
  node.node.stop()
  await open.close()
}, 240_000)

const folderOf = (file: string): string => join(file, '..')
