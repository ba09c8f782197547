import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest'
import { askCommand } from '../../../src/cli/ask/ask.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { systemClock } from '../../../src/runtime/systemClock.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { type OwnServices, openOwnServices } from '../../../src/services/own/ownServices.js'
import type { Service } from '../../../src/services/service.js'
import { openSqlite } from '../../../src/store/sqliteDriver.js'
import { runCommand } from '../../cli/commandBench.js'
import { type TestNode, testNode } from '../../node/testNode.js'
import { builtThread } from './builtThread.js'

// What an own service does besides answering: in the real thread, beside a real database.

const threadEntry = builtThread()
afterAll(() => rmSync(new URL('../..', threadEntry), { recursive: true }))

let folder: string
let own: OwnServices
let node: TestNode | undefined

/** Counts in the node's database, and fails on request after it has counted. */
const counter = `export default { keyword: 'count', summary: 'counts', usage: 'count',
  async answer(question, { data }) {
    const count = (data.get('count') ?? 0) + 1
    data.set('count', count)
    data.set('id ' + count, question.id)
    if (question.rest === 'fail') throw new Error('after it has counted')
    await new Promise((resume) => setTimeout(resume, 5))
    return String(count)
  } }
`

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'own-effects-'))
  copyFileSync(
    fileURLToPath(new URL('../../../samples/services/checkpoint.mjs', import.meta.url)),
    join(folder, 'checkpoint.mjs'),
  )
  writeFileSync(join(folder, 'count.mjs'), counter)
  writeFileSync(
    join(folder, 'node.toml'),
    '[station]\ncall = "N0DE-10"\n[store]\nfile = "node.db"\n[services.own]\nfolder = "."\n',
  )
})
afterEach(async () => {
  await stopNode()
  rmSync(folder, { recursive: true })
})

/** A run of the node, with its services; what is random differs from run to run. */
async function startNode(
  seed: number,
  file = 'node.db',
  options: NonNullable<Parameters<typeof testNode>[0]>['options'] = {},
): Promise<TestNode> {
  const live: Service[] = []
  own = openOwnServices({
    folder,
    clock: systemClock(),
    timeLimitMs: 30_000,
    memoryMb: 32,
    threadEntry,
    taken: [],
    onChange: (found) => live.splice(0, live.length, ...found),
    onEvent: () => {},
  })
  await own.ready
  node = testNode({ file: join(folder, file), services: live, seed, options })
  return node
}

async function stopNode(): Promise<void> {
  node?.node.stop()
  node?.store.close()
  if (node !== undefined) await own.close()
  node = undefined
}

/** What comes back, once the threads have answered: the node's clock is not theirs. */
async function answersOf({ node, wait, sentTexts }: TestNode): Promise<string[]> {
  await wait(1)
  while (node.state().openQuestionCount > 0) await new Promise((resume) => setTimeout(resume, 5))
  await wait(30)
  const texts = sentTexts()
    .filter((text) => !/:(ack|rej)/.test(text))
    .map((text) => text.slice(text.indexOf(':', 1) + 1).replace(/\{.*/, ''))
  // nobody acknowledges them, so they are sent again
  return [...new Set(texts)]
}

const list = (): string[] =>
  existsSync(join(folder, 'checkpoint.csv'))
    ? readFileSync(join(folder, 'checkpoint.csv'), 'utf8').trim().split('\n')
    : []

describe('what own services keep', () => {
  it('is not taken for a copy in a new database, or after a restart', async () => {
    let running = await startNode(1)
    running.ask('N0CALL-7', 'checkpoint 12 coldwell')
    expect(await answersOf(running)).toEqual(['12 noted at Coldwell 00:00. 1 passed there.'])
    await stopNode()
    running = await startNode(2)
    running.ask('N0CALL-9', 'checkpoint 13 coldwell')
    expect(await answersOf(running)).toEqual(['13 noted at Coldwell 00:00. 2 passed there.'])
    await stopNode()
    running = await startNode(3, 'new.db')
    running.ask('N0CALL-9', 'checkpoint 14 coldwell')
    expect(await answersOf(running)).toEqual(['14 noted at Coldwell 00:00. 3 passed there.'])
    expect(list().map((line) => line.split(',')[2])).toEqual(['12', '13', '14'])
    expect(new Set(list().map((line) => line.split(',')[0])).size).toBe(3)
  })

  it('is thrown away in a rehearsal, and a rehearsal never stands in the way of the real thing', async () => {
    const ask = async (question: string, seed: number) => {
      const config = join(folder, 'node.toml')
      const { stdout } = await runCommand(askCommand, [question, '--config', config], {
        clock: systemClock(),
        random: seededRandom(seed),
      })
      return stdout.split('\n')[1]?.replace(/^ *\d+\/67 +/, '')
    }
    const running = await startNode(1)
    running.ask('N0CALL-7', 'count')
    expect(await answersOf(running)).toEqual(['1'])
    expect(await ask('count', 11)).toBe('2')
    expect(await ask('count', 12)).toBe('2')
    expect(await ask('checkpoint 12 coldwell', 13)).toMatch(/^12 noted .* 1 passed there\.$/)
    expect(list()).toEqual([])
    running.ask('N0CALL-8', 'count')
    running.ask('N0CALL-9', 'checkpoint 12 coldwell')
    expect((await answersOf(running)).sort()).toEqual([
      '12 noted at Coldwell 00:00. 1 passed there.',
      '2',
    ])
    expect(list()).toHaveLength(1)
  })

  it('is what `ask` shows, octet for octet, before the node sends it: of several messages, by synonym, to others, to one name', async () => {
    writeFileSync(
      join(folder, 'long.mjs'),
      `export default { keyword: 'long-2', synonyms: ['lang'], summary: 'long', usage: 'long-2', messagesMax: 5,
        answer({ words, from }, { send, data }) {
          data.set('n', (data.get('n') ?? 0) + 1)
          if (words[0] === 'tell') send('Q1KIT-9', from + ' was here')
          return ['Grüße ' + words.join(' '), 'x'.repeat(70), 'number ' + data.get('n')]
        } }`,
    )
    writeFileSync(
      join(folder, 'node.toml'),
      '[station]\ncall = "N0DE-10"\n[store]\nfile = "node.db"\n[services.own]\nfolder = "."\n[[node.alias]]\nname = "LONG"\nservices = ["long-2"]\n',
    )
    const asked = async (text: string, to: string) => {
      const config = join(folder, 'node.toml')
      const { stdout } = await runCommand(
        askCommand,
        [text, '--config', config, '--to', to, '--format', 'json', '--from', 'N0CALL-7'],
        { clock: systemClock(), random: seededRandom(5) },
      )
      const { messages, besides = [] } = JSON.parse(stdout) as {
        messages: { text: string }[]
        besides?: { to: string; text: string }[]
      }
      return [...messages, ...besides].map(({ text: told }) => told)
    }
    const aliases = [{ name: 'LONG', services: ['long-2'] }]
    const running = await startNode(1, 'node.db', { aliases })
    for (const [text, to] of [
      ['long-2 one two', 'N0DE-10'],
      ['anything at all', 'LONG'],
      ['count', 'N0DE-10'],
      // Last: nobody acknowledges what is sent to another, and so it is repeated.
      ['LANG tell', 'N0DE-10'],
    ] as const) {
      const shown = await asked(text, to)
      expect(shown.length).toBeGreaterThan(0)
      running.hear(`N0CALL-7>APZRPP::${to.padEnd(9)}:${text}`)
      // Those to another station go out in its own turn.
      expect((await answersOf(running)).sort()).toEqual([...shown].sort())
    }
    expect(await asked('count', 'N0DE-10')).toEqual(['2'])
  }, 120_000)

  it('is kept together with the answer, question after question, or not at all', async () => {
    let running = await startNode(1)
    running.ask('N0CALL-1', 'count fail')
    for (let at = 2; at < 8; at++) running.ask(`N0CALL-${at}`, `count`)
    const answers = await answersOf(running)
    expect(answers.filter((text) => /^\d$/.test(text)).sort()).toEqual([...'123456'])
    expect(answers).toContain('Sorry, count does not work here just now.')
    // A service that answers when its node has gone has written nothing: it is asked again by the next one.
    running.ask('N0CALL-8', 'count')
    await running.wait(1)
    running.node.stop()
    await new Promise((resume) => setTimeout(resume, 100))
    await stopNode()
    running = await startNode(2)
    expect(await answersOf(running)).toEqual(['7'])
    const kept = running.store.serviceData.all('count')
    expect(kept.get('count')).toBe('7')
    expect(kept.get('id 7')).toMatch(/^"Q8-r1-\d+"$/)
  })

  it('goes by the ids of an older database where it has questions of one', async () => {
    await startNode(1)
    await stopNode()
    const sqlite = openSqlite(join(folder, 'node.db'))
    const now = virtualClock().wallMs()
    sqlite.exec(`INSERT INTO questions (from_call, addressee, number, text, radio, heard_ms, last_heard_ms, state)
      VALUES ('N0CALL-7', 'N0DE-10', '1', 'count', 0, ${now}, ${now}, 'accepted')`)
    sqlite.close()
    const running = await startNode(2)
    expect(await answersOf(running)).toEqual(['1'])
    expect(running.store.serviceData.all('count').get('id 1')).toBe('"Q1"')
  })
})
