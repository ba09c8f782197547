import { readFileSync } from 'node:fs'
import { connect } from 'node:net'
import { describe, expect, it } from 'vitest'
import { startCommand } from '../../src/ptt/childCommand.js'
import { errorText } from '../../src/runtime/errorText.js'
import { Failure } from '../../src/runtime/failure.js'

const thrownBy = (run: () => unknown): unknown => {
  try {
    run()
  } catch (error) {
    return error
  }
  return undefined
}

describe('text of an error', () => {
  it('says what the system said without its codes and calls', async () => {
    expect(errorText(thrownBy(() => readFileSync('/nowhere/at/all')))).toBe('no such file')
    expect(errorText(thrownBy(() => readFileSync('/')))).toBe('a folder')
    expect(errorText(thrownBy(() => readFileSync('/dev/null/x')))).toBe(
      'a file stands where a folder is expected',
    )
    const refused = new Promise((resolve) => connect(1, '127.0.0.1').on('error', resolve))
    expect(errorText(await refused)).toBe('connection refused: nothing listens there')
    expect((await startCommand(['/nowhere/program']).ended).status).toBe('no such program')
  })

  it('takes the words of a code that it has none for from the system', () => {
    const error = Object.assign(new Error('EXDEV: cross-device link not permitted, rename'), {
      code: 'EXDEV',
      errno: -18,
    })
    expect(errorText(error)).toBe('cross-device link not permitted')
  })

  it.each([
    ['Error: No such file or directory, cannot open /dev/ttyUSB0', 'no such file'],
    ['Error: Permission denied, cannot open /dev/tty with, comma', 'no permission'],
    [
      'Error Resource temporarily unavailable Cannot lock port',
      'Resource temporarily unavailable Cannot lock port',
    ],
    [
      'Reading from COM port (ReadIOCompletion): gone',
      'Reading from COM port (ReadIOCompletion): gone',
    ],
  ])('of a serial driver: %s', (said, told) => expect(errorText(new Error(said))).toBe(told))

  it('is one line, and is there for whatever was thrown', () => {
    expect(errorText(new Error('first\nsecond'))).toBe('first')
    expect(errorText('text')).toBe('text')
    expect(errorText(undefined)).toBe('undefined')
    expect(errorText(null)).toBe('null')
    expect(errorText({ code: 7 })).toBe('[object Object]')
    const failure = new Failure({ code: 'c', subject: 's', got: 'g', expected: 'e' })
    expect(errorText(failure)).toBe(failure.message)
  })
})
