import { spawnSync } from 'node:child_process'
import { closeSync, fstatSync, mkdtempSync, openSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { logLine } from '../../src/cli/log/logFormat.js'
import { createRunLog, keepingLog } from '../../src/cli/run/runLog.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { NodeEvent } from '../../src/store/events.js'
import { compiled } from '../ptt/helperProcess.js'

const clock = virtualClock(Date.UTC(2026, 0, 15, 16, 1, 25))

function lines(format: 'text' | 'json'): string[] {
  const written: string[] = []
  const stream = { write: (text: string) => written.push(text) }
  const log = createRunLog(stream, { level: 'all', format }, clock)
  log.note('node started')
  log.fault('airtime not written: the file system is read-only')
  return written
}

const event = (kind: NodeEvent['kind']): NodeEvent => ({ atWallMs: 0, kind, text: 'x' })

function linesOf(format: 'text' | 'json', isJournal: boolean): string[] {
  const lines: string[] = []
  const log = createRunLog(
    { write: (line) => lines.push(line) },
    { level: 'all', format },
    clock,
    isJournal,
  )
  log.node(event('heard'))
  log.node(event('answered'))
  log.note('started')
  log.node(event('fault'))
  log.fault('a card is missing')
  log.error('x is undefined')
  return lines
}

describe('the log of a running node', () => {
  it.each(['text', 'json'] as const)('%s: priorities for the journal, by severity', (format) => {
    const priorities = linesOf(format, true).map((line) => /^<(\d)>/.exec(line)?.[1])
    expect(priorities).toEqual(['7', '6', '6', '4', '4', '3'])
    // one line each, or the rest would have the journal's default
    for (const line of linesOf(format, true)) expect(line.indexOf('\n')).toBe(line.length - 1)
  })

  it.each(['text', 'json'] as const)('%s: none for anybody else', (format) => {
    for (const line of linesOf(format, false)) expect(line).not.toMatch(/^</)
  })

  it('the program looks whether standard error is the journal', () => {
    const folder = mkdtempSync(join(tmpdir(), 'run-log-'))
    const stderr = openSync(join(folder, 'stderr'), 'w')
    try {
      const { dev, ino } = fstatSync(stderr, { bigint: true })
      for (const [inode, expected] of [
        [ino, /^<3>ridgepost: /],
        [ino + 1n, /^ridgepost: /],
      ] as const) {
        spawnSync(
          process.execPath,
          [compiled('src/cli/main.js'), 'run', join(folder, 'none.toml')],
          {
            stdio: ['ignore', 'ignore', stderr],
            env: { ...process.env, JOURNAL_STREAM: `${dev}:${inode}` },
          },
        )
        expect(readFileSync(join(folder, 'stderr'), 'utf8').split('\n').at(-2)).toMatch(expected)
      }
    } finally {
      closeSync(stderr)
      rmSync(folder, { recursive: true })
    }
  })

  it('what failed lately is known, each once, the newest first, for ten minutes', () => {
    const time = virtualClock()
    const log = keepingLog(
      createRunLog({ write: () => {} }, { level: 'quiet', format: 'text' }, time),
      time,
    )
    log.fault('the disk is full')
    time.advanceBy(1000)
    log.error('a timer threw')
    log.note('no fault')
    time.advanceBy(1000)
    log.fault('the disk is full')
    const atWallMs = time.wallMs()
    expect(log.recentFaults()).toEqual([
      { atWallMs, text: 'the disk is full' },
      { atWallMs: atWallMs - 1000, text: 'a timer threw' },
    ])
    time.advanceBy(599_000)
    expect(log.recentFaults().map(({ text }) => text)).toEqual(['the disk is full'])
    time.advanceBy(1000)
    expect(log.recentFaults()).toEqual([])
    for (let n = 0; n < 100; n++) log.fault(`fault ${n}`)
    expect(log.recentFaults()).toHaveLength(5)
  })

  it('faults go into the database too, once there is one', () => {
    const kept: NodeEvent[] = []
    const log = keepingLog(
      createRunLog({ write: () => {} }, { level: 'quiet', format: 'text' }, clock),
      clock,
    )
    log.fault('too early')
    log.keepFaultsIn({ events: { add: (one: NodeEvent) => kept.push(one) } } as never)
    log.fault('a card is missing')
    log.keepFault('of the log itself')
    log.note('no fault')
    expect(kept.map(({ kind, text }) => `${kind} ${text}`)).toEqual([
      'fault a card is missing',
      'fault of the log itself',
    ])
  })
})

it('that nothing was asked is told to no person, and to every program', () => {
  const event = {
    atWallMs: clock.wallMs(),
    kind: 'heard',
    station: 'Q1ABC',
    text: 'position',
  } as const
  const told = (reason: string): string[] => [
    lineOf('text', { ...event, reason }),
    logLine({ id: 1, ...event, reason }, 'text'),
  ]
  for (const line of told('nothing asked')) expect(line).toMatch(/position\n$/)
  for (const line of told('not addressed to us'))
    expect(line).toMatch(/position \(not addressed to us\)\n$/)
  const stored = { id: 1, ...event, reason: 'nothing asked' }
  expect(logLine(stored, 'json') + logLine(stored, 'csv')).toMatch(
    /nothing asked.*\n.*nothing asked/,
  )
})

function lineOf(format: 'text' | 'json', event: NodeEvent): string {
  const written: string[] = []
  createRunLog({ write: (text) => written.push(text) }, { level: 'all', format }, clock).node(event)
  return written.join('')
}

describe('what brings no time along', () => {
  it('has the time of the clock, as text', () => {
    expect(lines('text')).toEqual([
      '16:01:25 note                    node started\n',
      '16:01:25 fault                   airtime not written: the file system is read-only\n',
    ])
  })

  it('has the time of the clock, as JSON', () => {
    for (const line of lines('json'))
      expect(JSON.parse(line)).toMatchObject({ at: '2026-01-15T16:01:25.000Z' })
  })
})
