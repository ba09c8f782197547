import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it, vi } from 'vitest'
import type { EmergencyReport } from '../../src/node/emergencyMarks.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { describeReport, emergencyCommand } from '../../src/setup/emergencyCommand.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-emergency-'))
afterAll(() => rmSync(folder, { recursive: true }))

const report: EmergencyReport = {
  ...{ station: 'Q1ABC-7', radio: 0, sign: 'sos', exercise: false, text: 'SOS leg broken' },
  position: { latitudeDeg: 45.2, longitudeDeg: -36.7, ageMs: 720_000 },
}

/** A program that writes down its words, one a line, and ends with a status. */
function program(name: string, status = 0) {
  const file = join(folder, name)
  const told = `${file}.told`
  writeFileSync(
    file,
    `#!/bin/sh\nfor word in "$@"; do echo "$word" >> ${told}; done\nexit ${status}\n`,
  )
  chmodSync(file, 0o755)
  const words = (): string[] =>
    existsSync(told) ? readFileSync(told, 'utf8').trim().split('\n') : []
  return { file, words }
}

describe('the command that is told of a call for help', () => {
  it('gets kind, call and a sentence as words of their own, whatever a stranger writes', async () => {
    const { file, words } = program('tell')
    const clock = virtualClock()
    const faults: string[] = []
    const command = emergencyCommand({
      clock,
      command: [file, '--to'],
      onFault: (text) => faults.push(text),
    })
    command.tell({ ...report, text: '--help; rm -rf "$HOME" `id` \n$(id)', exercise: true })
    await vi.waitFor(() => expect(words()).toHaveLength(4), { timeout: 10_000 })
    const [to, kind, call, sentence] = words()
    expect([to, kind, call]).toEqual(['--to', 'exercise', 'Q1ABC-7'])
    expect(sentence).toBe(
      'Q1ABC-7: sos: --help; rm -rf "$HOME" `id` %0A$(id); at 45.20000, -36.70000, 12min ago',
    )
    expect(faults).toEqual([])
    command.close()
  })

  it('one at a time, five seconds apart; a call before exercises; what is too many is said', async () => {
    const { file, words } = program('queue')
    const clock = virtualClock()
    const faults: string[] = []
    const command = emergencyCommand({
      clock,
      command: [file],
      onFault: (text) => faults.push(text),
    })
    for (let index = 0; index < 25; index++)
      command.tell({ ...report, station: `Q2X-${index}`, exercise: true })
    command.tell({ ...report, station: 'Q3REAL' })
    expect(faults).toHaveLength(5)
    expect(faults[0]).toContain('not told of Q2X-1')
    await vi.waitFor(() => expect(words()).toHaveLength(3), { timeout: 10_000 })
    await vi.waitFor(
      () => {
        clock.advanceTo(clock.monotonicMs() + 1_000)
        expect(words().length).toBeGreaterThanOrEqual(6)
      },
      { timeout: 20_000, interval: 100 },
    )
    expect(words().slice(3, 5)).toEqual(['emergency', 'Q3REAL'])
    command.close()
  })

  it('one that fails, or is not there, is said with the call', async () => {
    const faults: string[] = []
    const clock = virtualClock()
    const onFault = (text: string): void => void faults.push(text)
    emergencyCommand({ clock, command: [program('fails', 3).file], onFault }).tell(report)
    emergencyCommand({ clock, command: [join(folder, 'none')], onFault }).tell(report)
    await vi.waitFor(() => expect(faults).toHaveLength(2), { timeout: 10_000 })
    expect(faults.join()).toContain('status 3; Q1ABC-7 called for help')
    expect(faults.join()).toMatch(/none: .*no such/i)
  })
})

describe('the sentence', () => {
  it.each([
    [{ position: undefined }, 'Q1ABC-7: sos: SOS leg broken; position unknown'],
    [
      { text: '', sign: 'Mic-E emergency', position: undefined },
      'Q1ABC-7: Mic-E emergency; position unknown',
    ],
  ])('%j', (change, sentence) => {
    expect(describeReport({ ...report, ...change })).toBe(sentence)
  })
})
