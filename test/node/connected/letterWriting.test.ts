import { describe, expect, it } from 'vitest'
import type { Letters } from '../../../src/node/connected/letters.js'
import { letterWriting } from '../../../src/node/connected/letterWriting.js'
import { inEnglish } from '../../../src/words/air/all.js'

describe('a letter that is typed', () => {
  const kept: string[] = []
  const letters = {
    octetsMax: 100,
    leave: ({ text }: { text: string }) => {
      kept.push(text)
      return { ok: true, id: 7 }
    },
  } as unknown as Letters

  it('ends with a dot or Ctrl-Z alone on a line; whatever else begins with a slash is its text', () => {
    const writing = letterWriting(letters, 'Q1KIT', 'Q1ABC', 'Walk', () => {}, inEnglish)
    for (const line of ['/ex', '.ex', 'at noon'])
      expect(writing.line(line)).toEqual({ lines: [], over: false })
    expect(writing.line('.').over).toBe(true)
    expect(kept).toEqual(['/ex\n.ex\nat noon'])
    const other = letterWriting(letters, 'Q1KIT', 'Q1ABC', 'Walk', () => {}, inEnglish)
    other.line('once more')
    expect(other.line('\u001a').over).toBe(true)
    expect(kept).toHaveLength(2)
  })

  it('is dropped by /drop', () => {
    const writing = letterWriting(letters, 'Q1KIT', 'Q1ABC', 'Walk', () => {}, inEnglish)
    writing.line('no')
    expect(writing.line('/drop')).toEqual({ lines: ['Dropped.'], over: true })
    expect(kept).toHaveLength(2)
  })
})
