import { describe, expect, it } from 'vitest'
import {
  type Entry,
  entryFault,
  entryKinds,
  entryLimits,
  isCarried,
  isEntryId,
  isLatestOnly,
  isNodeCall,
  isSenderName,
  originOf,
} from '../../../src/node/hills/entry.js'

const message: Entry = {
  ...{ id: 'Q1HIL-5.ABCDEFGHJ7', kind: 'message', from: 'Q3SND', to: 'Q4RCV-7', subject: '' },
  ...{ text: 'hello', ageMin: 5, lifeMin: 60, trace: ['Q1HIL-5', 'Q2MID'] },
}
const letter: Entry = { ...message, kind: 'letter', subject: 'a walk' }
const report: Entry = { ...message, kind: 'report', to: 'mum@home' }
const notice: Entry = { ...message, kind: 'notice', to: '*' }

describe('what an entry is named by', () => {
  it.each(['Q1HIL.ABCDEFGHJK', 'A.2222222222', 'Q1HILL-1.ZZZZZ77777', 'Q1HIL-15.ABCDEFGHJK'])(
    '%j is an id',
    (text) => expect(isEntryId(text)).toBe(true),
  )

  it.each([
    ...['', 'Q1HIL', '.ABCDEFGHJK', 'Q1HILLL.ABCDEFGHJK', 'Q1HIL-0.ABCDEFGHJK'],
    ...['Q1HIL-16.ABCDEFGHJK', 'Q1HIL-20.ABCDEFGHJK', 'Q1HIL-.ABCDEFGHJK', 'q1hil.ABCDEFGHJK'],
    ...['Q1HIL.ABCDEFGHJ', 'Q1HIL.ABCDEFGHJKL', 'Q1HIL.ABCDEFGHJ1', 'Q1HIL.abcdefghjk'],
    ...[' Q1HIL.ABCDEFGHJK', 'Q1HIL.ABCDEFGHJK\n', '!Q1HIL.ABCDEFGHJK', 'Q1HIL ABCDEFGHJK'],
  ])('%j is none', (text) => expect(isEntryId(text)).toBe(false))

  it('begins with the node where it began', () => {
    expect(originOf('Q1HIL-5.ABCDEFGHJK')).toBe('Q1HIL-5')
    expect(originOf('Q1HIL.ABCDEFGHJK')).toBe('Q1HIL')
  })

  it.each([...['A', '1', 'Q1HILL', 'Q1HIL-1', 'Q1HIL-9', 'Q1HIL-10', 'Q1HIL-15']])(
    '%j is the call of a node',
    (text) => expect(isNodeCall(text)).toBe(true),
  )

  it.each([
    ...['', '*', 'Q1HILLL', 'Q1HIL-0', 'Q1HIL-16', 'Q1HIL-1a', 'q1hil', 'Q1HIL-', '-5', 'Q1-HIL'],
    ...[' Q1HIL', 'Q1HIL ', 'mum@home', 'Q1HIL-5-5'],
  ])('%j is none', (text) => expect(isNodeCall(text)).toBe(false))

  it('a sender is 1 to 60 printable characters without a space', () => {
    for (const text of ['!', '~', 'mum@home', 'x'.repeat(60)])
      expect(isSenderName(text), text).toBe(true)
    for (const text of ['', 'x'.repeat(61), 'mum home', ' mum', 'mum ', 'mü', 'mum\x7f', 'mum\n'])
      expect(isSenderName(text), text).toBe(false)
  })
})

describe('kinds of entries', () => {
  it('are kept by one node at a time, or copied; of some only the latest counts', () => {
    expect(entryKinds.filter(isCarried)).toEqual(['message', 'letter'])
    expect(entryKinds.filter(isLatestOnly)).toEqual(['stations', 'weather', 'directory'])
  })
})

describe('an entry that came', () => {
  it.each<[string, Entry]>([
    ['a message', message],
    ['a letter', letter],
    ['a report, whose receiver is whoever wrote', report],
    ['a notice', notice],
    ['a withdrawal', { ...notice, kind: 'withdrawal', text: message.id }],
    ['stations', { ...notice, kind: 'stations', from: 'Q1HIL-5' }],
    ['weather', { ...notice, kind: 'weather', text: 'one\ntwo\n\nthree' }],
    ['news', { ...notice, kind: 'directory' }],
    ['a sender without a call sign', { ...message, from: 'mum@home' }],
    ['the shortest trace', { ...message, trace: ['Q1HIL-5'] }],
    ['the longest trace', { ...message, trace: ['Q1HIL-5', 'Q2MID', 'Q3MID'] }],
    ['the longest subject', { ...letter, subject: 'ä'.repeat(100) }],
    ['no age, no life', { ...message, ageMin: 0, lifeMin: 0 }],
    ['a year ago, for thirty days', { ...message, ageMin: 525_600, lifeMin: 43_200 }],
  ])('is well formed: %s', (_, entry) => expect(entryFault(entry)).toBeUndefined())

  it.each<[string, string, Entry]>([
    ['id', 'an id of another form', { ...message, id: 'Q1HIL-5.abc' }],
    ['from', 'nobody', { ...message, from: '' }],
    ['from', 'two words', { ...message, from: 'mum home' }],
    ['to', 'a message to a name', { ...message, to: 'mum@home' }],
    ['to', 'a letter to a name', { ...letter, to: 'mum@home' }],
    ['to', 'a message to nobody', { ...message, to: '' }],
    ['to', 'a message to everybody', { ...message, to: '*' }],
    ['to', 'a letter to everybody', { ...letter, to: '*' }],
    ['to', 'a report to everybody', { ...report, to: '*' }],
    ['to', 'a report to two words', { ...report, to: 'mum home' }],
    ['to', 'a notice to one station', { ...notice, to: 'Q4RCV' }],
    ['to', 'a notice to a name', { ...notice, to: 'mum@home' }],
    ['to', 'weather to one station', { ...notice, kind: 'weather', to: 'Q4RCV' }],
    ['trace', 'no trace', { ...message, trace: [] }],
    ['trace', 'four hands', { ...message, trace: ['Q1HIL-5', 'Q2MID', 'Q3MID', 'Q4MID'] }],
    ['trace', 'a hand twice', { ...message, trace: ['Q1HIL-5', 'Q2MID', 'Q1HIL-5'] }],
    ['trace', 'a hand that is no call', { ...message, trace: ['Q1HIL-5', 'mum@home'] }],
    ['trace', 'another beginning than the id says', { ...message, trace: ['Q2MID', 'Q1HIL-5'] }],
    ['trace', 'the beginning without its SSID', { ...message, trace: ['Q1HIL', 'Q2MID'] }],
    ['subject', 'a subject that is too long', { ...letter, subject: `${'ä'.repeat(100)}x` }],
    ['subject', 'a bell in the subject', { ...letter, subject: 'a\x07walk' }],
    ['subject', 'a second line of a subject', { ...letter, subject: 'a\nwalk' }],
    ['text', 'a bell in the text', { ...letter, text: 'a\n\x07' }],
    ['text', 'a carriage return in the text', { ...letter, text: 'a\rb' }],
    ['age', 'an age that is too high', { ...message, ageMin: 525_601 }],
    ['age', 'an age below zero', { ...message, ageMin: -1 }],
    ['age', 'a part of a minute', { ...message, ageMin: 0.5 }],
    ['age', 'no age', { ...message, ageMin: Number.NaN }],
    ['life', 'a life that is too long', { ...message, lifeMin: 43_201 }],
    ['life', 'a life below zero', { ...message, lifeMin: -1 }],
    ['life', 'a part of a life', { ...message, lifeMin: 1.5 }],
  ])('has a wrong %s: %s', (fault, _, entry) => expect(entryFault(entry)).toBe(fault))

  it.each<[Entry['kind'], number]>([
    ['message', 256],
    ['letter', 50_000],
    ['report', 256],
    ['withdrawal', 256],
    ['notice', 256],
    ['stations', 4_000],
    ['weather', 4_000],
    ['directory', 1_000],
  ])('of %s has %d octets of text and no more', (kind, octets) => {
    const { to } = { message, letter, report }[kind as 'message'] ?? notice
    const entry = { ...message, kind, to, text: `${'ä'.repeat(octets / 2 - 1)}xx` }
    expect(entryFault(entry)).toBeUndefined()
    expect(entryFault({ ...entry, text: `${entry.text}x` })).toBe('text')
    expect(entryLimits.textOctets[kind]).toBe(octets)
  })
})
