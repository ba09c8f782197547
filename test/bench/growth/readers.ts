import { spawn } from 'node:child_process'
import { rmSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { openSqlite } from '../../../src/store/sqliteDriver.js'
import type { Store } from '../../../src/store/store.js'
import { pause, threadsOf } from '../liveCost.js'

const main = fileURLToPath(new URL('../../../dist/bundle/ridgepost.js', import.meta.url))

/** What a `log` takes: CPU seconds, and the most memory, MB. */
export async function costOfLog(
  file: string,
  words: readonly string[],
): Promise<{ cpuS: number; peakMb: number }> {
  const report = fileURLToPath(new URL('../entry/processCost.mjs', import.meta.url))
  const child = spawn(
    process.execPath,
    ['--import', report, main, 'log', '--database', file, ...words],
    { stdio: ['ignore', 'ignore', 'pipe'] },
  )
  let said = ''
  child.stderr!.on('data', (part: Buffer) => {
    said += part.toString()
  })
  const code = await new Promise((resolve) => child.once('close', resolve))
  const figures = /cpu ([\d.]+) mb ([\d.]+)/.exec(said)
  if (figures === null || code !== 0) throw new Error(said)
  return { cpuS: Number(figures[1]), peakMb: Number(figures[2]) }
}

/** Every form of `log`, with what it is called here. */
export const logForms: readonly (readonly [string, readonly string[]])[] = [
  ['newest 1,000', []],
  ['of a station', ['--station', 'Q0AAA']],
  ['of a station with SSID', ['--station', 'Q0AAA-0']],
  ['of kind heard', ['--kind', 'heard']],
  ['of kind asked', ['--kind', 'asked']],
  ['of kind fault: none', ['--kind', 'fault']],
  ['since a time', ['--since', '36500d']],
  ['since just now: none', ['--since', '1s']],
  ['until a time', ['--until', '2000-01-01T00:00']],
  ['of a question', ['--reference', 'Q12']],
  ['CSV of all', ['--format', 'csv', '--limit', 'all']],
  ['JSON of all', ['--format', 'json', '--limit', 'all']],
  ['text of all', ['--limit', 'all']],
  ['CSV of all heard', ['--format', 'csv', '--limit', 'all', '--kind', 'heard']],
  ['CSV of a station, all', ['--format', 'csv', '--limit', 'all', '--station', 'Q0AAA']],
  ['summary', ['--summary']],
  ['summary of heard', ['--summary', '--kind', 'heard']],
  ['summary of a station', ['--summary', '--station', 'Q0AAA']],
]

/** Share of a core that `log --follow` takes while nothing happens. */
export async function costOfFollow(file: string, words: readonly string[]): Promise<number> {
  const child = spawn(process.execPath, [main, 'log', '--database', file, '--follow', ...words], {
    stdio: 'ignore',
  })
  const cpuS = (): number => threadsOf(child.pid!).reduce((sum, one) => sum + one.cpuS, 0)
  await pause(8_000)
  const before = cpuS()
  const seconds = 20
  await pause(1_000 * seconds)
  const share = (cpuS() - before) / seconds
  child.kill('SIGTERM')
  await new Promise((resolve) => child.once('close', resolve))
  return share
}

/**
 * Back-up by the program while this process writes each 40 ms: two counters in one transaction each time. The copy has both of
 * one moment, and every frame that the original has, row by row.
 * @returns what it took: CPU seconds of the program, and ms on the clock
 * @throws Error when it is not the copy of one moment
 */
export async function backUpWhileWriting(
  file: string,
  store: Store,
): Promise<{ cpuS: number; tookMs: number }> {
  const copy = `${file}.copy`
  let writes = 0
  const timer = setInterval(() => {
    writes++
    store.durably('two counts', () => [store.count('first'), store.count('second')])
  }, 40)
  const startMs = performance.now()
  const { cpuS } = await costOfLog(file, ['--backup', copy])
  const tookMs = performance.now() - startMs
  clearInterval(timer)
  if (writes === 0) throw new Error('nothing was written meanwhile')
  const database = openSqlite(file, { readOnly: true })
  database.run('ATTACH ? AS copy', copy)
  const counts = database.all<{ value: number }>(
    "SELECT value FROM copy.counters WHERE name IN ('first', 'second')",
  )
  if (counts.length !== 2 || counts[0]?.value !== counts[1]?.value)
    throw new Error('the copy is of two moments')
  // What was gathered beside the original's tables is in those of the copy: stations are told apart by that.
  for (const table of ['frames', 'events', 'messages', 'mailbox'])
    if (differ(database, table)) throw new Error(`${table} differ`)
  database.close()
  rmSync(copy)
  return { cpuS, tookMs }
}

/** Whether a table has other rows than the attached copy has. */
function differ(database: ReturnType<typeof openSqlite>, table: string): boolean {
  const countOf = (name: string): number =>
    database.get<{ count: number }>(`SELECT count(*) AS count FROM ${name}`)!.count
  if (countOf(`main.${table}`) !== countOf(`copy.${table}`)) return true
  const columns = database.all<{ name: string }>(`PRAGMA table_info(${table})`)
  const others = columns.map(({ name }) => `one.${name} IS NOT other.${name}`).join(' OR ')
  const found = database.get(
    `SELECT 1 FROM main.${table} AS one LEFT JOIN copy.${table} AS other ON other.rowid = one.rowid
     WHERE other.rowid IS NULL OR ${others} LIMIT 1`,
  )
  return found !== undefined
}
