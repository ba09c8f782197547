import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { parse } from 'csv-parse/sync'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { logCommand } from '../../src/cli/log/log.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore, type Store } from '../../src/store/store.js'
import { collect } from '../store/collect.js'
import { runCommand } from './commandBench.js'

const start = Date.UTC(2026, 5, 21, 12)
const hour = 3_600_000
let folder: string
let file: string
let store: Store
let clock: VirtualClock

const events: readonly NodeEvent[] = [
  { atWallMs: start, kind: 'heard', radio: 0, station: 'Q1KIT-9', text: 'position' },
  {
    atWallMs: start + hour,
    kind: 'asked',
    radio: 0,
    station: 'N0CALL-7',
    reference: 'Q1',
    text: 'sun',
  },
  { atWallMs: start + hour, kind: 'answered', station: 'N0CALL-7', reference: 'Q1', text: 'Today' },
  {
    atWallMs: start + 2 * hour,
    kind: 'refused',
    station: 'Q1KIT',
    text: '=cmd("x"),\u001b[2J',
    reason: 'too many',
  },
  {
    atWallMs: start + 3 * hour,
    kind: 'given up',
    station: 'Q1OLD',
    reference: 'M3',
    text: 'hello',
  },
]

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'log-'))
  file = join(folder, 'node.db')
  clock = virtualClock(start + 4 * hour)
  store = openStore({ file, clock })
  for (const event of events) store.events.add(event)
  store.flush()
})
afterEach(() => {
  store.close()
  rmSync(folder, { recursive: true })
})

const log = (...words: string[]) =>
  runCommand(logCommand, ['--database', file, ...words], { clock })
const texts = async (...words: string[]) =>
  (await log('--format', 'json', ...words)).stdout
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line).text)

describe('log', () => {
  it('shows all that happened, oldest first, while the node has the database open', async () => {
    const { stdout, exitCode } = await log()
    expect(exitCode).toBe(0)
    expect(stdout.split('\n')).toEqual([
      '2026-06-21 12:00:00Z heard        Q1KIT-9   -     position [radio 0]',
      '2026-06-21 13:00:00Z asked        N0CALL-7  Q1    sun [radio 0]',
      '2026-06-21 13:00:00Z answered     N0CALL-7  Q1    Today',
      '2026-06-21 14:00:00Z refused      Q1KIT     -     =cmd("x"),%1B[2J (too many)',
      '2026-06-21 15:00:00Z given up     Q1OLD     M3    hello',
      '',
    ])
  })

  it.each([
    [
      ['--since', '3h'],
      ['sun', 'Today', '=cmd("x"),\u001b[2J', 'hello'],
    ],
    [
      ['--since', '2026-06-21T13:30'],
      ['=cmd("x"),\u001b[2J', 'hello'],
    ],
    [['--since', '2026-06-21T15:30+02:00', '--until', '2026-06-21 15:00'], ['=cmd("x"),\u001b[2J']],
    [['--until', '2026-06-21T12:00:01Z'], ['position']],
    [['--since', '2026-06-22'], []],
    [
      ['--station', 'q1kit'],
      ['position', '=cmd("x"),\u001b[2J'],
    ],
    [['--station', 'Q1KIT-9'], ['position']],
    [
      ['--kind', 'asked', '--kind', 'given-up'],
      ['sun', 'hello'],
    ],
    [
      ['--reference', 'q1'],
      ['sun', 'Today'],
    ],
    [['--limit', '1'], ['hello']],
    [['--since', '61m'], ['hello']],
    [['--since', '90m', '--until', '30m'], ['hello']],
    [['--limit', 'all', '--kind', 'heard'], ['position']],
  ])('with %j shows the part', async (words, expected) => {
    expect(await texts(...words)).toEqual(expected)
  })

  it('says so where it ends before the end', async () => {
    const some = await log('--limit', '2', '--format', 'csv')
    expect(some.stderr).toBe('These are the newest 2; --limit all gives all.\n')
    expect(some.stdout.trim().split('\n')).toHaveLength(3)
    for (const words of [['--limit', '5'], ['--limit', 'all'], []])
      expect((await log(...words)).stderr).toBe('')
  })

  it('as CSV can be read back, and runs no formula in a spreadsheet', async () => {
    const { stdout } = await log('--format', 'csv')
    const rows = parse(stdout, { columns: true }) as Record<string, string>[]
    expect(rows).toHaveLength(5)
    expect(rows[1]).toEqual({
      time: '2026-06-21T13:00:00.000Z',
      kind: 'asked',
      radio: '0',
      station: 'N0CALL-7',
      reference: 'Q1',
      text: 'sun',
      reason: '',
    })
    expect(rows[3]!.text).toBe('\'=cmd("x"),%1B[2J')
  })

  it('counts on request, by kind', async () => {
    expect((await log('--summary')).stdout).toBe(
      'heard               1\nasked               1\nrefused             1\nanswered            1\ngiven up            1\n',
    )
    const filtered = await log('--summary', '--station', 'N0CALL-7', '--format', 'json')
    expect(JSON.parse(filtered.stdout)).toEqual({ asked: 1, answered: 1 })
    expect((await log('--summary', '--format', 'csv', '--since', '1h')).stdout).toBe(
      'kind,count\ngiven up,1\n',
    )
  })

  it('follows until interrupted, each event once', async () => {
    let stop = (): void => {}
    const stdout = new PassThrough()
    let text = ''
    stdout.on('data', (chunk) => {
      text += chunk
    })
    const running = runCommand(logCommand, ['--database', file, '--follow', '--kind', 'asked'], {
      clock,
      stdout,
      onStop: (run) => {
        stop = run
      },
    })
    const ask = async (question: string): Promise<void> => {
      store.events.add({ atWallMs: clock.wallMs(), kind: 'asked', text: question })
      store.events.add({ atWallMs: clock.wallMs(), kind: 'heard', text: question })
      store.flush()
      await clock.advanceToAsync(clock.monotonicMs() + 1000)
    }
    while (clock.nextAtMs() === undefined || text === '')
      await new Promise((resolve) => setImmediate(resolve))
    await ask('one')
    await ask('two')
    await clock.advanceToAsync(clock.monotonicMs() + 5000)
    stop()
    expect((await running).exitCode).toBe(0)
    expect(text.match(/\b(sun|one|two)\b/g)).toEqual(['sun', 'one', 'two'])
    expect(text).not.toMatch(/heard/)
  })

  it('backs the database up, and puts a back-up back', async () => {
    const copy = join(folder, 'copy.db')
    store.letters.insert({
      ...{ from: 'Q1ABC', to: 'Q2XYZ', subject: 's', text: 't', leftWallMs: start },
      ...{ expiresWallMs: start + hour, expiryTrusted: true },
    })
    expect((await log('--backup', copy)).stdout).toBe(
      `Backed up to ${copy}: 5 events, 0 messages, 0 in the mailbox, 1 letters, 0 stations\n`,
    )
    store.events.add({ atWallMs: start + 4 * hour, kind: 'heard', text: 'later' })
    store.flush()
    const inUse = await log('--restore', copy, '--yes')
    expect(inUse).toMatchObject({
      exitCode: 1,
      stderr: expect.stringContaining('stop the node first'),
    })
    store.close()
    // A file that is not there is found before anybody is asked.
    const missing = await log('--restore', join(folder, 'none.db'))
    expect(missing.stderr).toContain('none.db: there is no such file')
    expect(missing.stdout + missing.stderr).not.toContain('in the place of')
    const stdin = new PassThrough()
    stdin.end('n\n')
    const declined = await runCommand(logCommand, ['--database', file, '--restore', copy], {
      clock,
      stdin,
    })
    expect(declined).toMatchObject({ exitCode: 1 })
    expect(await texts()).toContain('later')
    await collect()
    const restored = await log('--restore', copy, '--yes')
    expect(restored.exitCode).toBe(0)
    expect(restored.stdout).toMatch(/^Restored .*: 5 events.*\nThe former one is kept as /)
    expect(await texts()).not.toContain('later')
    expect(readdirSync(folder).some((name) => name.includes('before-restore'))).toBe(true)
    store = openStore({ file, clock })
  })

  it('finds the database through the configuration', async () => {
    const config = join(folder, 'node.toml')
    writeFileSync(config, '[store]\nfile = "node.db"\n')
    const { stdout } = await runCommand(logCommand, ['--config', config, '--limit', '1'], { clock })
    expect(stdout).toMatch(/given up/)
  })

  it('makes no database, and says what it was given', async () => {
    const none = join(folder, 'none.db')
    const run = await runCommand(logCommand, ['--database', none], { clock })
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toMatch(/none\.db: there is no such file/)
    expect(existsSync(none)).toBe(false)
    writeFileSync(none, 'x'.repeat(5000))
    expect((await runCommand(logCommand, ['--database', none], { clock })).stderr).toMatch(
      /it is not a database; give the right file/,
    )
  })

  it.each([
    [[], /expected either --config FILE or --database FILE/],
    [['--database', 'a', '--config', 'b'], /got both/],
    [['--database', 'a', '--since', 'yesterday'], /Expected a time such as/],
    [['--database', 'a', '--since', '2026-13-01'], /Expected a time such as/],
    [['--database', 'a', '--kind', 'seen'], /Expected one of heard, repaired/],
    [['--database', 'a', '--station', 'nobody'], /Expected a call sign/],
    [['--database', 'a', '--reference', '12'], /Expected a letter and a number/],
    [['--database', 'a', '--limit', '0'], /Expected a whole number/],
  ])('%j is wrong usage', async (words, message) => {
    const run = await runCommand(logCommand, words, { clock })
    expect(run.exitCode).toBe(2)
    expect(run.stderr).toMatch(message)
  })
})
