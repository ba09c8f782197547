import { describe, expect, it } from 'vitest'
import {
  holdMsMax,
  parseControlMessage,
  parseHoldDuration,
} from '../../src/control/controlCommand.js'

describe('commands of the control operator', () => {
  it.each([
    ['hold 12345678', { kind: 'hold', durationMs: undefined }, '12345678'],
    [' Hold  30M 123456 ', { kind: 'hold', durationMs: 1_800_000 }, '123456'],
    ['hold 2h', { kind: 'hold', durationMs: 7_200_000 }, undefined],
    ['HOLD', { kind: 'hold', durationMs: undefined }, undefined],
    ['release 1234567', { kind: 'release' }, '1234567'],
    ['state 12345678', { kind: 'state' }, '12345678'],
  ])('"%s"', (text, command, code) => {
    expect(parseControlMessage(text)).toEqual({ command, code })
  })

  it.each([
    '',
    'holds 12345678',
    'hold on 12345678',
    'hold 30m now 12345678',
    'hold 0m 12345678',
    'release it 12345678',
    'state of the trail',
    'help 12345678',
  ])('"%s" is none', (text) => {
    expect(parseControlMessage(text)).toBeUndefined()
  })

  it('a hold lasts at most a week', () => {
    expect(parseHoldDuration('7d')).toBe(holdMsMax)
    expect(parseHoldDuration('8d')).toBeUndefined()
    expect(parseHoldDuration('10080m')).toBe(holdMsMax)
    expect(parseHoldDuration('10081m')).toBeUndefined()
  })
})
