import { fstatSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { isJournal } from '../../src/devices/journal.js'

describe('whether a stream is the journal', () => {
  const { dev, ino } = fstatSync(1, { bigint: true })
  it.each([
    ['device and inode of this very stream', `${dev}:${ino}`, 1, true],
    ['of another one: the output was sent elsewhere', `${dev}:${ino + 1n}`, 1, false],
    ['not set', undefined, 1, false],
    ['empty', '', 1, false],
    ['nonsense', 'journal', 1, false],
    ['a descriptor that is not open', `${dev}:${ino}`, 1_000_000, false],
  ])('%s', (_, stream, descriptor, expected) => {
    expect(isJournal(stream, descriptor)).toBe(expected)
  })
})
