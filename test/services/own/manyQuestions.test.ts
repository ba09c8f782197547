import { cpSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, afterEach, beforeEach, expect, it } from 'vitest'
import { askCommand } from '../../../src/cli/ask/ask.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { systemClock } from '../../../src/runtime/systemClock.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { type OwnServices, openOwnServices } from '../../../src/services/own/ownServices.js'
import type { Service } from '../../../src/services/service.js'
import { runCommand } from '../../cli/commandBench.js'
import { type TestNode, testNode } from '../../node/testNode.js'
import { builtThread } from './builtThread.js'

/*
 * Questions to a service that keeps, in its real thread, over a database on a file: the node is killed at random moments (the
 * next run begins with the files as they are then, nothing closed or flushed); questions are heard again, as
 * askers repeat them; databases are replaced by empty ones; `ask` asks beside it. QUESTIONS=10000 for all of them.
 */
const questions = Number(process.env.QUESTIONS ?? 200)
const seed = Number(process.env.SEED ?? 1)

const threadEntry = builtThread()
afterAll(() => rmSync(new URL('../..', threadEntry), { recursive: true }))

const counter = `export default { keyword: 'tally', summary: 'counts', usage: 'tally N',
  async answer(question, { data }) {
    const key = 'n ' + question.rest.slice(-4)
    data.set(key, [...(data.get(key) ?? []), question.id + ' ' + question.rest])
    if (question.rest.endsWith('3')) await new Promise((resume) => setTimeout(resume, 2))
    return 'counted ' + question.rest
  } }
`

let folder: string
let own: OwnServices
const live: Service[] = []
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'own-many-'))
  writeFileSync(join(folder, 'tally.mjs'), counter)
  own = openOwnServices({
    ...{ folder, clock: systemClock(), timeLimitMs: 30_000, memoryMb: 64, threadEntry, taken: [] },
    onChange: (found) => live.splice(0, live.length, ...found),
    onEvent: () => {},
  })
  await own.ready
})
afterEach(async () => {
  await own.close()
  rmSync(folder, { recursive: true })
})

it(
  `${questions} questions: nothing dropped, nothing twice, nothing of a rehearsal kept`,
  async () => {
    const random = seededRandom(seed)
    const opened: Opened[] = []
    let file = 0
    let run = 0
    let asked = 0
    let kills = 0
    /** of the present database: acknowledged, by text */
    let acknowledged = new Map<string, string>()
    let node: TestNode
    let sentCount = 0
    let nowMs = virtualClock().wallMs()

    const start = (): void => {
      run++
      const clock = virtualClock(nowMs)
      node = testNode({
        ...{ file: join(folder, `${file}.db`), services: live, seed: seed * 1000 + run, clock },
      })
      opened.push({ node, file })
      if (opened.length > openMax) retire(opened.shift()!)
      sentCount = 0
    }
    /** What the disk has at this moment; the killed run goes on with files that nobody looks at again. */
    const kill = (): void => {
      kills++
      nowMs = node.clock.wallMs() + 1000
      const before = `${file}.db`
      file++
      for (const name of readdirSync(folder))
        if (name.startsWith(before) && !name.endsWith('-shm'))
          cpSync(join(folder, name), join(folder, `${file}.db${name.slice(before.length)}`))
      start()
    }
    const noteAcknowledged = (open: ReadonlyMap<string, string>): void => {
      const { sent } = node.port
      for (const { line } of sent.slice(sentCount)) {
        const call = /::(\S+)\s*:ack/.exec(line)?.[1]
        const text = call === undefined ? undefined : open.get(call)
        if (text !== undefined) acknowledged.set(text, call!)
      }
      sentCount = sent.length
    }
    const settle = async (open: ReadonlyMap<string, string>): Promise<void> => {
      // The thread's time is not the node's.
      await node.wait(1)
      while (node.node.state().openQuestionCount > 0) await new Promise((go) => setTimeout(go, 1))
      await node.wait(30)
      while (node.node.state().openQuestionCount > 0) await new Promise((go) => setTimeout(go, 1))
      noteAcknowledged(open)
    }
    const check = (): void => {
      const kept = [...node.store.serviceData.all('tally').values()].flatMap(
        (json) => JSON.parse(json) as string[],
      )
      const texts = kept.map((one) => one.slice(one.indexOf(' ') + 1))
      expect(new Set(texts).size, 'twice').toBe(texts.length)
      expect([...acknowledged.keys()].filter((text) => !texts.includes(text))).toEqual([])
      expect(texts.filter((text) => text.startsWith('only tried'))).toEqual([])
    }

    start()
    while (asked < questions) {
      const open = new Map<string, string>()
      const lines: string[] = []
      for (let at = 0; at < 1 + Math.floor(random() * 6); at++) {
        const call = `Q${asked % 10}${'ABCDEFGHIJ'[Math.floor(asked / 10) % 10]}${'ABCDEFGHIJ'[Math.floor(asked / 100) % 10]}`
        if (open.has(call)) continue
        asked++
        open.set(call, `${asked}`)
        lines.push(`${call}>APZRPP::N0DE-10  :tally ${asked}{${asked % 1000}`)
      }
      for (const line of lines) {
        node!.hear(line)
        for (let at = 0; at < random() * 4; at++) await node!.wait(1)
      }
      if (random() < 0.3) {
        noteAcknowledged(open)
        kill()
        // Who heard no answer asks once more.
        for (const line of lines) if (random() < 0.7) node!.hear(line)
      }
      await settle(open)
      if (random() < 0.02) {
        writeFileSync(
          join(folder, 'node.toml'),
          `[station]\ncall = "N0DE-10"\n[store]\nfile = "${file}.db"\n[services.own]\nfolder = "."\n`,
        )
        await runCommand(
          askCommand,
          [`tally only tried ${asked}`, '--config', join(folder, 'node.toml')],
          { clock: systemClock(), random: seededRandom(asked) },
        )
      }
      if (random() < 0.03) {
        check()
        nowMs = node!.clock.wallMs() + 1000
        file++
        acknowledged = new Map()
        start()
      }
    }
    check()
    expect(kills).toBeGreaterThan(questions / 30)
    for (const one of opened) retire(one)
  },
  1_200_000 + questions * 300,
)

interface Opened {
  readonly node: TestNode
  /** the number of its database */
  readonly file: number
}

/** A killed run has had its answers from the thread when so many others have begun since. */
const openMax = 10

/** Ten thousand questions leave two thousand databases: all at once they take more time than the questions. */
function retire({ node, file }: Opened): void {
  node.node.stop()
  node.store.close()
  for (const name of readdirSync(folder))
    if (name.startsWith(`${file}.db`)) rmSync(join(folder, name))
}
