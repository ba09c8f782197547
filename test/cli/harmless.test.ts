import { describe, expect, it } from 'vitest'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { askCommand } from '../../src/cli/ask/ask.js'
import { formatNames, frameFormat } from '../../src/cli/decode/decodeFormat.js'
import { frameText } from '../../src/cli/levels/levelsView.js'
import { logFormats, logHeader, logLine } from '../../src/cli/log/logFormat.js'
import { createRunLog } from '../../src/cli/run/runLog.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { describeRejected, quoted } from '../../src/services/data/rejected.js'
import { runCommand } from './commandBench.js'

/** What a message may hold that tries to be a line of the log, a command of the terminal, or text in another order. */
const hostile =
  ' =x\r\n2026-01-01 00:00:00Z answered N0CALL-7\x1b[2J\x9b31m\u202eedoc\u2066\u061c\u2028\ud83d\x7f'
const raw = /[\0-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u206f]/
const oneLine = (text: string): void => {
  expect(text).not.toMatch(raw)
  expect(text.endsWith('\n')).toBe(true)
  expect(text.split('\n')).toHaveLength(2)
  // a half of a pair would become U+FFFD on its way out
  expect(Buffer.from(text).toString()).toBe(text)
}

const received = (text: string, source = 'N0CALL') => ({
  octets: encodeFrame(
    uiFrame({
      source: { call: source, ssid: 1 },
      destination: { call: 'APZ001', ssid: 0 },
      payload: new TextEncoder().encode(text),
    }),
  ),
  firstSample: 0,
  lastSample: 100,
  detector: 'test',
  repairedBits: 0,
  quality: {
    ...{ levelDbfs: -10, toneBalanceDb: 0, toneOffsetHz: 0, symbolRateErrorPpm: 0, ebN0Db: 20 },
    ...{ eyeOpening: 1, clippedShare: 0, preambleFlags: 30 },
  },
})

describe('text of strangers in the output of commands', () => {
  const event = {
    id: 1,
    atWallMs: 0,
    kind: 'asked',
    station: hostile,
    reference: 'Q1',
    text: hostile,
    reason: hostile,
  } as const

  it.each(logFormats)('log, as %s', (format) => {
    const line = logLine(event, format)
    oneLine(line)
    if (format === 'json') expect(JSON.parse(line)).toMatchObject({ text: hostile })
    if (format === 'csv') {
      expect(line.split(',')).toHaveLength(logHeader(format).split(',').length)
      // an apostrophe in front of what a spreadsheet would reckon
      expect(line).toContain(",' =x%0D%0A")
    }
  })

  it.each(['text', 'json'] as const)('the running node, as %s', (format) => {
    const lines: string[] = []
    const stream = { write: (text: string) => lines.push(text) }
    const log = createRunLog(stream, { level: 'all', format }, virtualClock())
    log.node(event)
    log.node({ ...event, kind: 'heard' })
    log.radio(hostile, { atWallMs: 0, atMs: 0, radio: 0, kind: 'fault', reason: hostile })
    log.note(`KISS client ${hostile}`)
    log.fault(hostile)
    expect(lines).toHaveLength(5)
    for (const line of lines) oneLine(line)
    if (format === 'json') expect(JSON.parse(lines[0]!)).toMatchObject({ text: hostile })
  })

  it.each(formatNames)('decode, as %s', (name) => {
    const format = frameFormat(name, { columns: undefined })
    const found = { file: hostile, channel: 0, sampleRateHz: 8000 }
    const head = { name: hostile, sampleRateHz: 8000, channelCount: 1, durationS: 1 }
    const heading = format.heading(head as Parameters<typeof format.heading>[0])
    if (heading !== '') oneLine(heading)
    format.frame({ ...found, received: received('first, with the titles') })
    for (const text of [hostile, `>${hostile}`, `:N0CALL-7 :${hostile}`])
      oneLine(format.frame({ ...found, received: received(text) }))
  })

  it('decode: a long word is cut between characters', () => {
    const format = frameFormat('human', { columns: 60 })
    const found = { file: '', channel: 0, sampleRateHz: 8000 }
    const text = format.frame({ ...found, received: received(`>${'x🏔'.repeat(50)}`) })
    expect(Buffer.from(text).toString()).toBe(text)
  })

  it('levels, and values of data files', () => {
    expect(frameText(received('x', 'A\u007eB'))).not.toMatch(raw)
    const line = describeRejected('list.csv', { line: 1, got: quoted(hostile), expected: 'a name' })
    expect(line).not.toMatch(raw)
    expect(line).not.toContain('\n')
  })

  it.each(['text', 'json'])('ask, as %s', async (format) => {
    const { stdout } = await runCommand(askCommand, ['--format', format, `help ${hostile}`])
    expect(stdout).not.toMatch(raw)
    expect(stdout).not.toContain('\n2026-01-01')
  })
})
