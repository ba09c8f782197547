import { describe, expect, it } from 'vitest'
import { ConfigInvalid, parseConfig } from '../../src/config/load.js'

const radio = (name: string, ptt: string): string =>
  `[[radio]]\nname = "${name}"\n[radio.ptt]\n${ptt}\n`

const problemsOf = (...ptts: string[]): readonly string[] => {
  try {
    parseConfig(ptts.map((ptt, index) => radio(`r${index}`, ptt)).join(''), 'node.toml')
  } catch (error) {
    if (error instanceof ConfigInvalid) return error.problems
    throw error
  }
  return []
}

const gpio = (line: number): string => `kind = "gpio"\ndevice = "gpiochip0"\nline = ${line}`
const serial = (line: string): string =>
  `kind = "serial"\ndevice = "/dev/ttyUSB0"\nline = "${line}"`
const hid = (pin: number): string => `kind = "hid"\ndevice = "/dev/hidraw0"\nline = ${pin}`
const command = (word: string): string =>
  `kind = "command"\nkeyCommand = ["key", "${word}"]\nunkeyCommand = ["unkey"]`

describe('two radios on one key line', () => {
  it.each([
    ['gpio', gpio(17), gpio(17)],
    ['serial', serial('rts'), serial('dtr')],
    ['hid', hid(3), hid(4)],
    ['command', command('a'), command('a')],
  ])('%s: refused, with the key and who has it', (_, first, second) => {
    const [problem, ...others] = problemsOf(first, second)
    expect(problem).toMatch(
      /^node\.toml: radio\.1\.ptt\.(device|keyCommand): got .*; r0 has this one/,
    )
    expect(others).toEqual([])
  })

  it.each([
    ['lines of one chip', gpio(17), gpio(27)],
    ['two commands', command('a'), command('b')],
    ['log files', 'kind = "log"\nlogFile = "a"', 'kind = "log"\nlogFile = "a"'],
  ])('%s: allowed', (_, first, second) => {
    expect(problemsOf(first, second)).toEqual([])
  })
})
