import { closeSync, fsyncSync, openSync } from 'node:fs'
import { encodeFrame } from '../../../src/ax25/frame.js'
import { parseLine } from '../../../src/ax25/line.js'
import { createNode } from '../../../src/node/node.js'
import type { Clock } from '../../../src/runtime/clock.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../../src/setup/defaultOptions.js'
import { openSqlite } from '../../../src/store/sqliteDriver.js'
import { openStore } from '../../../src/store/store.js'
import { echoService, TestPort } from '../../node/testNode.js'
import { defaultStoreOptions } from '../../store/openTestStore.js'
import { traffic } from '../store/traffic.js'
import { mainThreadMs } from './threadCpu.js'

const dayMs = 86_400_000

/**
 * A node over a file, on a virtual clock whose calls are timed: while one runs, nothing else gets the main thread. Counted is its CPU
 * time, which other load on the machine hardly changes.
 */
export function timedNode(file: string, seed: number, keepDays = 1_000, wallMs?: number) {
  const clock = virtualClock(wallMs)
  let holdMsMax = 0
  const timed = (run: () => void): void => {
    const before = mainThreadMs()
    run()
    holdMsMax = Math.max(holdMsMax, mainThreadMs() - before)
  }
  const timedClock: Clock = { ...clock, at: (atMs, run) => clock.at(atMs, () => timed(run)) }
  const retention = {
    keepMs: keepDays * dayMs,
    keepStationsMs: keepDays * dayMs,
    sizeBytesMax: 1e12,
  }
  const store = openStore({
    ...defaultStoreOptions(clock),
    ...{ file, clock: timedClock, retention, stationsMax: 100_000, onFault: fail },
  })
  const port = new TestPort(clock)
  let id = 0
  const node = createNode({
    ...{ ports: [port], clock: timedClock, random: seededRandom(seed), nextId: () => `g${++id}` },
    ...{ store, services: [echoService] },
    options: defaultNodeOptions({ call: 'N0DE-10' }),
  })
  return {
    ...{ clock, store, port, node },
    start: () => timed(() => node.start()),
    takeHoldMs() {
      const ms = holdMsMax
      holdMsMax = 0
      return ms
    },
    close() {
      node.stop()
      store.close()
    },
  }
}

export const fail = (failure: Error): never => {
  throw failure
}

export type TimedNode = ReturnType<typeof timedNode>

/** One frame in so many is a question, whose answer is acknowledged. */
const questionEvery = 50

/** Frames heard one every 12 s. */
export async function hearFrames(
  one: TimedNode,
  count: number,
  stationCount: number,
  seed: number,
): Promise<void> {
  const { clock, port, store } = one
  const heard = traffic(stationCount, seededRandom(seed))
  const hear = (line: string, quality?: ReturnType<typeof heard>['quality']): void => {
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
    port.hear(encodeFrame(parsed.frame), 0, quality)
  }
  for (let number = 1; number <= count; number++) {
    const { line, quality } = heard()
    if (number % questionEvery > 0) hear(line, quality)
    else hear(`Q1ASK-7>APZ001::N0DE-10  :echo ${number}{${number % 9_999}`, quality)
    // an answer takes promises
    if (number % questionEvery > 0) clock.advanceTo(clock.monotonicMs() + 5_000)
    else await clock.advanceToAsync(clock.monotonicMs() + 5_000)
    for (const sent of port.sent.splice(0)) {
      const answer = /:Q1ASK-7 +:.*\{([^}]+)/.exec(sent.line)?.[1]
      if (answer !== undefined) hear(`Q1ASK-7>APZ001::N0DE-10  :ack${answer}`)
    }
    clock.advanceTo(clock.monotonicMs() + 7_000)
  }
  store.flush()
}

/**
 * What a node wrote into its tables, again and again with later times, until there are so many frames: a million by hearing them
 * would take an hour.
 * @returns the wall clock's time after the last of them
 */
export function fillUp(file: string, frameCount: number): number {
  const database = openSqlite(file)
  const one = (sql: string): number => Number(database.get<{ value: number }>(sql)?.value)
  const have = one('SELECT count(*) AS value FROM frames')
  const firstMs = one('SELECT min(heard_ms) AS value FROM frames')
  const spanMs = one('SELECT max(heard_ms) AS value FROM frames') - firstMs + 12_000
  const questions = one('SELECT max(id) AS value FROM questions')
  database.exec('PRAGMA synchronous = OFF; BEGIN')
  const copies = Math.ceil(frameCount / have)
  for (const table of ['frames', 'events', 'questions', 'messages', 'transmissions', 'keyings']) {
    const columns = database
      .all<{ name: string }>(`PRAGMA table_info(${table})`)
      .map(({ name }) => name)
      .filter((name) => name !== 'id')
    const shifted = (name: string): string => {
      if (name === 'question_id') return `question_id + ?1 * ${questions}`
      const isTime = name.endsWith('_ms') && !['airtime_ms', 'duration_ms'].includes(name)
      return isTime ? `${name} + ?1 * ${spanMs}` : name
    }
    const last = one(`SELECT max(rowid) AS value FROM ${table}`) || 0
    for (let copy = 1; copy < copies; copy++)
      database.run(
        `INSERT INTO ${table} (${columns.join(', ')}) SELECT ${columns.map(shifted).join(', ')}
         FROM ${table} WHERE rowid <= ${last} ORDER BY rowid`,
        copy,
      )
  }
  database.exec('COMMIT')
  database.close()
  // Onto the disk: the node's first checkpoint would wait for all of it.
  const handle = openSync(file, 'r+')
  fsyncSync(handle)
  closeSync(handle)
  return firstMs + copies * spanMs
}
