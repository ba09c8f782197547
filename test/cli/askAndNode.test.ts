import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import fc from 'fast-check'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { askCommand } from '../../src/cli/ask/ask.js'
import { loadConfig } from '../../src/config/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createServices, type OpenServices } from '../../src/services/all.js'
import { splitAnswer } from '../../src/services/splitAnswer.js'
import { nodeOptions } from '../../src/setup/nodeOptions.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { testNode } from '../node/testNode.js'
import { runCommand } from './commandBench.js'

/*
 * What `ask` shows is what the node sends, octet for octet: every service, names with one service, greetings, what is not
 * understood, queries of the reference, answers of several messages, messages that are left and collected.
 */
const startMs = Date.UTC(2026, 5, 21, 16)
const from = 'Q1KIT-9'
const names = ['N0CALL-10', 'RPT', 'WX', 'BOARD', 'N0CALL-5']
let folder: string
let config: string
let open: OpenServices
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'ask-node-'))
  cpSync(fileURLToPath(new URL('../../samples/hilltop', import.meta.url)), folder, {
    recursive: true,
  })
  config = join(folder, 'node.toml')
  const aliases = [
    ['RPT', 'repeaters'],
    ['WX', 'conditions'],
    ['BOARD', 'board'],
    ['N0CALL-5', 'pass'],
  ].map(([name, keyword]) => `[[node.alias]]\nname = "${name}"\nservices = ["${keyword}"]\n`)
  // Own services need threads, which have tests of their own.
  const text = readFileSync(config, 'utf8').replace(/\[services\.own\][^[]*/, '')
  writeFileSync(config, `${text}\n${aliases.join('\n')}`)
  open = createServices(
    serviceOptions(await loadConfig(config), folder, virtualClock(startMs), () => {}),
  )
  await open.ready
})
afterAll(async () => {
  await open.close()
  rmSync(folder, { recursive: true })
})

async function nodeSays(to: string, text: string): Promise<string[]> {
  const clock = virtualClock(startMs)
  const options = nodeOptions(await loadConfig(config))
  const node = testNode({ services: open.services, clock, options })
  node.hear(`${from}>APZRPP::${to.padEnd(9)}:${text}`)
  for (let second = 0; second < 30; second++) {
    await node.wait(1)
    await new Promise((resume) => setImmediate(resume))
  }
  node.node.stop()
  return node.sentTexts().map((sent) => sent.replace(/^:.{9}:/, ''))
}

async function askSays(to: string, text: string): Promise<string[]> {
  const { stdout } = await runCommand(
    askCommand,
    [text, '--config', config, '--from', from, '--to', to, '--format', 'json'],
    { clock: virtualClock(startMs) },
  )
  const { messages } = JSON.parse(stdout) as { readonly messages: readonly { text: string }[] }
  return messages.map((message) => message.text)
}

const texts = [
  ...[
    'help',
    'help weather',
    'repeaters 5',
    'repeaters 99',
    'repeaters 3 uhf',
    'repeaters 2 Coldwell',
  ],
  ...['repeaters 4 purple', '2', '70cm', 'HN15pf', 'weather', 'wx Coldwell', 'conditions N0CALL-3'],
  ...['pass next', 'pass fieldlark tomorrow', 'pass', 'sun', 'sun tomorrow', 'moon', 'sun 24 dec'],
  ...['heard', 'heard N0CALL', 'heard 5', 'where', 'where am i', 'where are you', 'Coldwell'],
  ...[
    'signal',
    'leave',
    'leave N0CALL-7 see you at six',
    'collect',
    'mail',
    'mail cancel 3',
    'board',
    'post',
    'post Hut open',
  ],
  ...[
    'find',
    'find water',
    'first aid more',
    'clock',
    'time',
    'hello',
    'ping',
    '73',
    'cancel',
    'lorem',
  ],
  ...[
    'he',
    'repaeters',
    'Wann geht die Sonne unter?',
    'météo svp',
    '?PING?',
    '?APRSD',
    '?APRSH N0CALL',
    'x',
  ],
  ...[
    'back',
    'back 18:00 N0CALL-9',
    'back 3h',
    'back off',
    'tell',
    'tell N0CALL-9',
    'tell N0CALL-9 I am late',
  ],
  ...[
    'reply',
    'reply yes',
    'mail cancel 1',
    'bulletins',
    'bulletins objects',
    'roll',
    'confirmed',
    'name',
    'all',
    '5',
  ],
  ...[
    'stop sending',
    'N0CALL-9 bring the map',
    'need a doctor',
    'tell me the time',
    'r u there',
    'leave anna@example.org hi',
  ],
]

it('every service, by every kind of text', async () => {
  for (const text of texts) {
    const said = await askSays('N0CALL-10', text)
    expect(said, text).toEqual(await nodeSays('N0CALL-10', text))
    // No more messages than the characters need, or than their words in one text would.
    const whole = said.join(' ')
    const fewest = splitAnswer(whole, { messagesMax: 20 }).length
    expect(said.length, text).toBeLessThanOrEqual(Math.max(Math.ceil(whole.length / 67), fewest))
  }
})

it('any text to any name (fast-check)', async () => {
  const word = fc.constantFrom(
    ...[
      'repeaters',
      'pass',
      'sun',
      'heard',
      'board',
      'wetter',
      'r',
      '3',
      '70cm',
      'DMR',
      'HN15',
      'Coldwell',
    ],
    ...[
      'tomorrow',
      'all',
      'please',
      'where',
      'leave',
      'N0CALL-7',
      'thanks',
      'lune',
      'x y z',
      'fieldlark',
    ],
  )
  await fc.assert(
    fc.asyncProperty(
      fc.constantFrom(...names),
      fc.array(word, { minLength: 1, maxLength: 4 }),
      async (to, words) => {
        const text = words.join(' ')
        expect(await askSays(to, text)).toEqual(await nodeSays(to, text))
      },
    ),
    { numRuns: 60, seed: 1 },
  )
}, 120_000)
