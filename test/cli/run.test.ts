import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { encodeCommand } from '../../src/cli/encode/encode.js'
import { runCommand as nodeCommand } from '../../src/cli/run/run.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { root } from '../tidy/sources.js'
import { runCommand } from './commandBench.js'

/** A node on a recording, in a folder of its own. */
function fileNode(changes: { enabled: boolean; call?: string }): string {
  const folder = mkdtempSync(join(tmpdir(), 'run-'))
  writeFileSync(
    join(folder, 'node.toml'),
    `
[station]
call = "${changes.call ?? 'Q7RDG-10'}"
latitudeDeg = 45.2310
longitudeDeg = -36.7420
[audio]
input = "wav:in.wav"
output = "wav:out.wav"
[ptt]
kind = "log"
logFile = "ptt.log"
[transmit]
enabled = ${changes.enabled}
[services.repeaters]
file = "${join(root, 'samples/hilltop/repeaters.csv')}"
`,
  )
  return folder
}

const encodeQuestions = async (folder: string, lines: string[]): Promise<void> => {
  const output = join(folder, 'in.wav')
  expect(
    (await runCommand(encodeCommand, ['--output', output, '--gap', '7000', ...lines])).exitCode,
  ).toBe(0)
}

/** The recording passes on a clock of its own; the real one is only what the services' threads are waited for by. */
const runNode = (words: string[]) => runCommand(nodeCommand, words, { clock: systemClock() })

const line = (payload: string): string => `Q4TRL-7>APZ001:${payload}`

interface DecodedLine {
  readonly source: string
  readonly payload: string
  readonly timeS: number
}

const decoded = async (file: string): Promise<DecodedLine[]> => {
  const { stdout } = await runCommand(decodeCommand, [file, '--format', 'json'])
  return stdout
    .split('\n')
    .filter((one) => one !== '')
    .map((one) => JSON.parse(one) as DecodedLine)
}

describe('run on a recording', () => {
  it('acknowledges first, answers in messages that fit, and answers a repeated question once', async () => {
    const folder = fileNode({ enabled: true })
    const question = line(':Q7RDG-10 :repeaters 2{5')
    await encodeQuestions(folder, [
      line('!4510.26N/03639.78W['),
      question,
      question,
      // what the hand-held would send once it has the answers; numbers start at 101
      line(':Q7RDG-10 :ack101'),
      line(':Q7RDG-10 :ack102'),
      line(':Q7RDG-10 :ack102'),
    ])
    const run = await runNode([join(folder, 'node.toml'), '--capture', join(folder, 'c.pcap')])
    expect(run.exitCode, run.stderr).toBe(0)
    const sent = await decoded(join(folder, 'out.wav'))
    expect(sent.every(({ source }) => source === 'Q7RDG-10')).toBe(true)
    const payloads = sent.map(({ payload }) => payload)
    expect(payloads.filter((one) => one === ':Q4TRL-7  :ack5')).toHaveLength(2)
    expect(payloads[0]).toBe(':Q4TRL-7  :ack5')
    const answers = payloads.filter((one) => !one.includes(':ack'))
    expect(new Set(answers.map((one) => /\{(\w+)/.exec(one)?.[1]))).toEqual(new Set(['101', '102']))
    for (const answer of answers) {
      const text = answer.slice(11).replace(/\{.*$/, '')
      expect(text.length).toBeLessThanOrEqual(67)
      expect(text).toMatch(/of you$/)
    }
    expect(run.stderr.match(/answered/g)).toHaveLength(1)
    // the key line was on around every frame
    const edges = readFileSync(join(folder, 'ptt.log'), 'utf8').trim().split('\n')
    const spans = edges
      .map((edge) => edge.split(' '))
      .map(([, ms, kind]) => ({ ms: Number(ms), kind }))
    for (const { timeS } of sent) {
      const before = spans.filter(({ ms }) => ms <= timeS * 1000 + 1).at(-1)
      expect(before?.kind).toBe('keyed')
    }
    expect(spans.at(-1)?.kind).toBe('unkeyed')
  })

  it('sends nothing with a placeholder call, with transmitting off, or when told to receive only', async () => {
    const cases: [Parameters<typeof fileNode>[0], string[], RegExp][] = [
      [{ enabled: true, call: 'N0CALL-10' }, [], /placeholder/],
      [{ enabled: false }, [], /transmit\.enabled/],
      [{ enabled: true }, ['--receive-only'], /receiv|transmit\.enabled/],
    ]
    for (const [changes, flags, why] of cases) {
      const folder = fileNode(changes)
      const call = changes.call ?? 'Q7RDG-10'
      await encodeQuestions(folder, [line(`:${call.padEnd(9)}:help{1`)])
      const run = await runNode([join(folder, 'node.toml'), ...flags])
      expect(run.exitCode, run.stderr).toBe(0)
      expect(run.stderr).toMatch(why)
      const log = join(folder, 'ptt.log')
      expect(readFileSync(log, { encoding: 'utf8', flag: 'a+' })).not.toMatch(/ keyed/)
    }
  })

  it('a recording that is not there is named', async () => {
    const folder = fileNode({ enabled: true })
    const run = await runNode([join(folder, 'node.toml')])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toContain('in.wav')
    expect(run.stderr).not.toMatch(/\n\s+at /)
  })
})
