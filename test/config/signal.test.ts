import { expect, it } from 'vitest'
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
