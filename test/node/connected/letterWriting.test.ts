import { describe, expect, it } from 'vitest'
import type { Letters, NewLetterText } from '../../../src/node/connected/letters.js'
import { letterWriting } from '../../../src/node/connected/letterWriting.js'
import { inEnglish } from '../../../src/words/air/all.js'

function writing(subject = 'Walk', refusal?: string) {
  const kept: NewLetterText[] = []
  const told: [number, number][] = []
  const letters = {
    octetsMax: 20,
    leave(letter: NewLetterText) {
      kept.push(letter)
      return refusal === undefined ? { ok: true, id: 7 } : { ok: false, reason: refusal }
    },
  } as unknown as Letters
  const onKept = (id: number, octetCount: number) => void told.push([id, octetCount])
  const one = letterWriting(letters, 'Q1KIT', 'Q1ABC', subject, onKept, inEnglish)
  const type = (...lines: string[]) => lines.map((line) => one.line(line)).at(-1)!
  return { kept, told, type }
}
const goesOn = { lines: [], over: false }
const over = (line: string) => ({ lines: [line], over: true })

describe('a letter that is typed', () => {
  it.each(['.', ' . ', '\u001a'])('ends with a dot or Ctrl-Z alone on a line: %j', (end) => {
    const { kept, told, type } = writing()
    expect(type('/ex')).toEqual(goesOn)
    expect(type('.ex', ' at noon ')).toEqual(goesOn)
    // each line counts with its end
    expect(type(end)).toEqual(over('Letter 7 for Q1ABC is kept: 18 characters.'))
    expect(kept).toEqual([
      { from: 'Q1KIT', to: 'Q1ABC', subject: 'Walk', text: '/ex\n.ex\n at noon' },
    ])
    expect(told).toEqual([[7, 18]])
  })

  it('is dropped by /drop, in any case, in place of a subject, too', () => {
    const { kept, type } = writing()
    type('no')
    expect(type(' /DROP ')).toEqual(over('Dropped.'))
    expect(writing('').type('/drop')).toEqual(over('Dropped.'))
    expect(kept).toEqual([])
  })

  it('has its subject asked for until there is one, of 60 characters at most', () => {
    const { kept, type } = writing('')
    expect(type(' ')).toEqual({ lines: ['Subject?'], over: false })
    expect(type(`{${'x'.repeat(70)}`)).toEqual({
      ...{ lines: ['Text, then a line with only a dot. /drop drops it.'], over: false },
    })
    type('text', '.')
    expect(kept).toMatchObject([{ subject: `(${'x'.repeat(59)}`, text: 'text' }])
    const other = writing(`~${'y'.repeat(70)}`)
    other.type('text', '.')
    expect(other.kept).toMatchObject([{ subject: `-${'y'.repeat(59)}` }])
  })

  it('that is empty is not kept', () => {
    const { kept, told, type } = writing()
    expect(type('', ' ', '.')).toEqual(over('Not kept: it was empty.'))
    expect([kept, told]).toEqual([[], []])
  })

  it('that is refused says why, and nobody is told of it', () => {
    const { told, type } = writing('Walk', 'No room.')
    expect(type('text', '.')).toEqual(over('Not kept. No room.'))
    expect(told).toEqual([])
  })

  it('may be as long as is allowed, in octets; beyond it says so once, and is not kept', () => {
    const { kept, type } = writing()
    expect(type('ü'.repeat(9), '')).toEqual(goesOn)
    expect(type('')).toEqual({
      ...{ lines: ['Too long: at most 20 characters. /drop drops it.'], over: false },
    })
    expect(type('more')).toEqual(goesOn)
    expect(type('.')).toEqual(over('Not kept: longer than 20 characters.'))
    expect(kept).toEqual([])
    const other = writing()
    expect(other.type('ü'.repeat(9), '', '.')).toEqual(
      over('Letter 7 for Q1ABC is kept: 20 characters.'),
    )
  })
})
