import { describe, expect, it } from 'vitest'
import { parseHelperWord } from '../../src/ptt/helperProtocol.js'

describe('words of the helper', () => {
  it.each([
    '{"word":"ready","name":"log"}',
    '{"word":"keyed","atMs":12.5}',
    '{"word":"refused","reason":"cut"}',
    '{"word":"unkeyed","atMs":1,"cutCount":0}',
    '{"word":"cut","atMs":1,"reason":"","cutCount":1}',
    '{"word":"fault","reason":"x","detail":{"subject":"s","got":"g","expected":"e"}}',
  ])('%s', (line) => expect(parseHelperWord(line)).toEqual(JSON.parse(line)))

  it.each([
    '',
    'text of a driver',
    'null',
    '7',
    '[]',
    '{}',
    '{"word":"toString"}',
    '{"word":"keyed"}',
    '{"word":"keyed","atMs":"12"}',
    '{"word":"unkeyed","atMs":1}',
    '{"word":"cut","atMs":null,"reason":"x","cutCount":1}',
    '{"word":"other","atMs":1}',
  ])('are none: %s', (line) => expect(parseHelperWord(line)).toBeUndefined())
})
