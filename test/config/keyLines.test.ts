import { describe, expect, it } from 'vitest'
import { ConfigInvalid, parseConfig } from '../../src/config/load.js'

const radio = (name: string, ptt: string): string =>
  `[[radio]]\nname = "${name}"\n[radio.ptt]\n${ptt}\n`

const problemsOfText = (text: string): readonly string[] => {
  try {
    parseConfig(text, 'node.toml')
  } catch (error) {
    if (error instanceof ConfigInvalid) return error.problems
    throw error
  }
  return []
}

const problemsOf = (...ptts: string[]): readonly string[] =>
  problemsOfText(ptts.map((ptt, index) => radio(`r${index}`, ptt)).join(''))

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

describe('two radios that are keyed by something else', () => {
  const modem = (port: number, modemPort: number): string =>
    `[radio.modem]\nkind = "tcp"\nhost = "127.0.0.1"\nport = ${port}\nmodemPort = ${modemPort}\n`
  const vox = (channel: number, enabled: boolean): string =>
    `[radio.audio]\noutput = "alsa:card"\nchannelCount = 2\nchannel = ${channel}\n[radio.ptt]\nhangMs = 500\n[radio.transmit]\nenabled = ${enabled}\n`
  const problems = (...tables: string[]): readonly string[] =>
    problemsOfText(tables.map((table, n) => `[[radio]]\nname = "r${n}"\n${table}`).join(''))

  it('one port of one modem: refused', () => {
    expect(problems(modem(18702, 1), modem(18702, 1))).toEqual([
      expect.stringMatching(/^node\.toml: radio\.1\.modem\.host: .*modemPort.*; r0 has this one/),
    ])
  })

  it('one channel of one output that keys by its sound: refused', () => {
    expect(problems(vox(1, true), vox(1, true))).toEqual([
      expect.stringMatching(/^node\.toml: radio\.1\.audio\.output: .*; r0 has this one/),
    ])
  })

  it.each([
    ['two ports of one modem', modem(18702, 0), modem(18702, 1)],
    ['two modems', modem(18702, 0), modem(18703, 0)],
    ['two channels of one card', vox(0, true), vox(1, true)],
    ['one output, of which one radio only receives', vox(0, true), vox(0, false)],
  ])('%s: allowed', (_, first, second) => {
    expect(problems(first, second)).toEqual([])
  })
})
