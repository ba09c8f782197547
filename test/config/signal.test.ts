import { describe, expect, it } from 'vitest'
import { ConfigInvalid, parseConfig } from '../../src/config/load.js'
import { transmitOptions } from '../../src/setup/transmitOptions.js'

const codeOf = (text: string) => {
  const config = parseConfig(text, 'node.toml')
  return transmitOptions(config, config.radios[0]!).code
}

it('what frames go out with is plain unless said otherwise', () => {
  expect(codeOf('')).toBeUndefined()
  expect(codeOf('[signal]\nerrorCorrection = "fx25-16"\n')).toEqual({
    kind: 'fx25',
    checkOctets: 16,
  })
  expect(codeOf('[[radio]]\n[radio.signal]\nerrorCorrection = "fx25-64"\n')).toEqual({
    kind: 'fx25',
    checkOctets: 64,
  })
})

it('an external modem sends as it will, and a number between is refused', () => {
  const modem = '[modem]\nkind = "tcp"\nhost = "localhost"\nport = 18702\n'
  expect(() => codeOf(`${modem}[signal]\nerrorCorrection = "fx25-32"\n`)).toThrow(
    expect.objectContaining({
      problems: [expect.stringContaining('signal.errorCorrection')],
    }) as ConfigInvalid,
  )
  expect(() => codeOf('[signal]\nerrorCorrection = "fx25-20"\n')).toThrow(ConfigInvalid)
})

describe('9600 bit/s', () => {
  const at9600 = '[signal]\nbitRate = 9600\n'
  const radioOf = (text: string) => parseConfig(text, 'node.toml').radios[0]!

  it('is off unless set, and is one of two rates', () => {
    expect(radioOf('').signal.bitRate).toBe(1200)
    expect(radioOf(at9600).signal.bitRate).toBe(9600)
    expect(() => radioOf('[signal]\nbitRate = 2400\n')).toThrow(
      'node.toml: signal.bitRate: got 2400, expected one of 1200, 9600',
    )
  })

  it.each([
    ['[audio]\nrateHz = 16000\n', 'audio.rateHz: got 16000, expected 19200 or more'],
    ['[receiver]\nil2p = true\n', 'receiver.il2p: got true, expected false'],
    ['[transmit]\ntoneBalanceDb = 3\n', 'transmit.toneBalanceDb: got 3, expected 0'],
  ])('what is of two tones, or too slow, is refused: %j', (text, problem) => {
    expect(() => radioOf(at9600 + text)).toThrow(`${problem} with signal.bitRate = 9600`)
    expect(() => radioOf(text)).not.toThrow()
  })

  it('takes FX.25, and not IL2P', () => {
    expect(radioOf(`${at9600}errorCorrection = "fx25-16"\n`).signal.errorCorrection).toBe('fx25-16')
    expect(() => radioOf(`${at9600}errorCorrection = "il2p"\n`)).toThrow(
      'expected "none" or FX.25 with signal.bitRate = 9600',
    )
  })

  it('of an external modem, it is what that is set to: nothing of ours stands in its way', () => {
    const modem = '[modem]\nkind = "tcp"\nhost = "m"\nport = 1\n[audio]\nrateHz = 8000\n'
    expect(radioOf(at9600 + modem).signal.bitRate).toBe(9600)
  })

  it("the old key of a serial line's speed is refused, and both that it may have meant are named", () => {
    const sentence =
      'got an old key, expected modem.lineBitRate for the speed of the serial line, or signal.bitRate for the rate on the air'
    expect(() => radioOf('[modem]\nbitRate = 9600\n')).toThrow(
      `node.toml: modem.bitRate: ${sentence}`,
    )
    expect(() => radioOf('[[radio]]\nname = "a"\n[radio.modem]\nbitRate = 9600\n')).toThrow(
      `node.toml: radio.0.modem.bitRate: ${sentence}`,
    )
    for (const [table, old] of [
      ['[kiss]\n[[kiss.serial]]\ndevice = "/dev/x"', 'bitRate'],
      ['[node.gps]\ndevice = "/dev/x"', 'baud'],
      ['[services.conditions]\npath = "/dev/x"', 'baudRate'],
    ])
      expect(() => radioOf(`${table}\n${old} = 9600\n`)).toThrow(
        `.${old}: got an old key, expected lineBitRate`,
      )
    // Elsewhere the word means what it meant.
    expect(() => radioOf('[audio]\nbitRate = 9600\n')).toThrow('audio.bitRate: got an unknown key')
  })
})
