import { describe, expect, it } from 'vitest'
import { createRunLog } from '../../src/cli/runLog.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const clock = virtualClock(Date.UTC(2026, 0, 15, 16, 1, 25))

function lines(format: 'text' | 'json'): string[] {
  const written: string[] = []
  const stream = { write: (text: string) => written.push(text) }
  const log = createRunLog(stream, { level: 'all', format }, clock)
  log.note('node started')
  log.fault('airtime not written: the file system is read-only')
  return written
}

describe('what brings no time along', () => {
  it('has the time of the clock, as text', () => {
    expect(lines('text')).toEqual([
      '16:01:25 note                    node started\n',
      '16:01:25 fault                   airtime not written: the file system is read-only\n',
    ])
  })

  it('has the time of the clock, as JSON', () => {
    for (const line of lines('json'))
      expect(JSON.parse(line)).toMatchObject({ at: '2026-01-15T16:01:25.000Z' })
  })
})
