import { describe, expect, it } from 'vitest'
import {
  formatLine,
  type Line,
  lineOctetsMax,
  parseLine,
  textLines,
} from '../../../src/node/hills/lines.js'

const id = 'Q2BBB.ABCDEFGHJK'
const nonce = 'abcdefghijklmn27'

// DEVELOPERS.md, "From hill to hill", has the form of each line
const lines: [string, Line][] = [
  [
    `hill 1 Q2BBB-15 abcdefg7 1000000000 0 ${nonce}`,
    {
      ...{ type: 'hill', call: 'Q2BBB-15', epoch: 'abcdefg7', count: 1_000_000_000, confirmed: 0 },
      nonce,
    },
  ],
  [
    `hill 1 Q2BBB abcdefgh 0 1000000000 ${nonce}`,
    {
      ...{ type: 'hill', call: 'Q2BBB', epoch: 'abcdefgh', count: 0, confirmed: 1_000_000_000 },
      nonce,
    },
  ],
  ['session 7', { type: 'session', count: 7 }],
  [
    `offer ${id} letter 50000 Q4RCV-7`,
    { type: 'offer', id, kind: 'letter', octets: 50_000, to: 'Q4RCV-7' },
  ],
  [`offer ${id} message 256 *`, { type: 'offer', id, kind: 'message', octets: 256, to: '*' }],
  ['asked', { type: 'asked' }],
  [`want ${id}`, { type: 'want', id }],
  [`have ${id}`, { type: 'have', id }],
  [`kept ${id}`, { type: 'kept', id }],
  [`ended ${id} unknown`, { type: 'ended', id, outcome: 'unknown' }],
  [`refuse ${id} full`, { type: 'refuse', id, reason: 'full' }],
  [`refuse ${id} ${'a-z'.repeat(6)}zz`, { type: 'refuse', id, reason: `${'a-z'.repeat(6)}zz` }],
  ['answered', { type: 'answered' }],
  [
    `entry ${id} notice mum@home * 525600 43200 Q1AAA,Q2BBB-1,Q3CCC`,
    {
      ...{ type: 'entry', id, kind: 'notice', from: 'mum@home', to: '*', ageMin: 525_600 },
      ...{ lifeMin: 43_200, trace: ['Q1AAA', 'Q2BBB-1', 'Q3CCC'] },
    },
  ],
  [
    `entry ${id} message Q3SND Q4RCV 0 0 Q2BBB`,
    {
      ...{ type: 'entry', id, kind: 'message', from: 'Q3SND', to: 'Q4RCV', ageMin: 0, lifeMin: 0 },
      trace: ['Q2BBB'],
    },
  ],
  ['s a walk', { type: 's', text: 'a walk' }],
  ['t ', { type: 't', text: '' }],
  ['t  . ', { type: 't', text: ' . ' }],
  [`c ${'ä'.repeat(100)}`, { type: 'c', text: 'ä'.repeat(100) }],
  ['.', { type: '.' }],
  ['given', { type: 'given' }],
  ['nothing', { type: 'nothing' }],
  ['end', { type: 'end' }],
  ['stop disk', { type: 'stop', reason: 'disk' }],
]

/** What each of these lines is without its last word, with one more, and with none but the first. */
const words = lines
  .map(([text]) => text)
  .filter((text) => !/^[stc] /.test(text))
  .flatMap((text) => [
    `${text} `,
    ` ${text}`,
    `${text} more`,
    text.replace(' ', '  '),
    ...(text.includes(' ') ? [text.slice(0, text.lastIndexOf(' ')), text.split(' ')[0]!] : []),
  ])

describe('a line', () => {
  it.each(lines)('%j is written and read', (text, line) => {
    expect(formatLine(line)).toBe(text)
    expect(parseLine(text)).toEqual(line)
  })

  it.each([...new Set(words)].filter((text) => lines.every(([good]) => good !== text)))(
    '%j has a word too few or too many, and is none',
    (text) => {
      expect(parseLine(text)).toBeUndefined()
    },
  )

  it.each([
    `hill 2 Q2BBB abcdefgh 1 0 ${nonce}`,
    `hill 1 Q2BBB abcdefgh 1000000001 0 ${nonce}`,
    `hill 1 Q2BBB abcdefgh 0 1000000001 ${nonce}`,
    `hill 1 Q2BBB abcdefgh x 0 ${nonce}`,
    `hill 1 Q2BBB abcdefgh 0 x ${nonce}`,
    `hill 1 Q2BBB abcdefg1 1 0 ${nonce}`,
    `hill 1 Q2BBB abcdefg 1 0 ${nonce}`,
    `hill 1 Q2BBB aabcdefgh 1 0 ${nonce}`,
    `hill 1 Q2BBB Abcdefgh 1 0 ${nonce}`,
    `hill 1 Q2BBB-16 abcdefgh 1 0 ${nonce}`,
    `hill 1 Q2BBB abcdefgh 1 0 ${nonce.slice(1)}`,
    `hill 1 Q2BBB abcdefgh 1 0 a${nonce}`,
    `hill 1 Q2BBB abcdefgh 1 0 ${nonce.replace('a', '1')}`,
    'session -1',
    'session 01',
    'session 1000000001',
    'session 10000000000',
    'session 1e3',
    'session a1',
    'session 1a',
    'session a0',
    'session 0a',
    `offer ${id} letter 50001 Q4RCV`,
    `offer ${id} message 257 Q4RCV`,
    `offer ${id} command 5 Q4RCV`,
    `offer ${id.toLowerCase()} message 5 Q4RCV`,
    `offer ${id} message 5 ${'x'.repeat(61)}`,
    `offer ${id} message 5 ä`,
    `want ${id}A`,
    `have ${id}A`,
    `kept ${id}A`,
    `entry ${id} message Q3SND Q4RCV 525601 60 Q2BBB`,
    `entry ${id} message Q3SND Q4RCV 5 43201 Q2BBB`,
    `entry ${id} message Q3SND Q4RCV x 60 Q2BBB`,
    `entry ${id} message Q3SND Q4RCV 5 x Q2BBB`,
    `entry ${id} message Q3SND Q4RCV 5 60 A1A,B2B,C3C,D4D`,
    `entry ${id} message Q3SND Q4RCV 5 60 Q2BBB,`,
    `entry ${id} message Q3SND Q4RCV 5 60 Q2BBB,mum@home`,
    `entry ${id} message Q3SND ä 5 60 Q2BBB`,
    `entry ${id} message ä Q4RCV 5 60 Q2BBB`,
    `entry ${id} command Q3SND Q4RCV 5 60 Q2BBB`,
    `entry ${id}A message Q3SND Q4RCV 5 60 Q2BBB`,
    `ended ${id} replaced!`,
    `ended ${id}A delivered`,
    `refuse ${id}A full`,
    `refuse ${id} ${'a'.repeat(21)}`,
    `refuse ${id} FULL`,
    `refuse ${id} full!`,
    'stop DISK',
    `stop ${'a'.repeat(21)}`,
    'hold 30m 123456',
    'help',
    `offers ${id} message 5 Q4RCV`,
    '',
    ' ',
    ' asked',
    ' t text',
  ])('%j is none', (text) => {
    expect(parseLine(text)).toBeUndefined()
  })

  it.each(['s', 't', 'c'] as const)('%s has 200 octets of text and no more', (type) => {
    const text = `${'ä'.repeat(99)}xx`
    expect(parseLine(`${type} ${text}`)).toEqual({ type, text })
    expect(parseLine(`${type} ${text}x`)).toBeUndefined()
    expect(parseLine(`${type}${text}`)).toBeUndefined()
    expect(parseLine(type)).toBeUndefined()
  })

  it('is at its longest within the octets of a line', () => {
    const call = 'Q1HILL-15'
    const trace = [call, 'Q2HILL-15', 'Q3HILL-15']
    const longest: Line = {
      ...{ type: 'entry', id: `${call}.ABCDEFGHJK`, kind: 'withdrawal', from: 'x'.repeat(60) },
      ...{ to: 'y'.repeat(60), ageMin: 525_600, lifeMin: 43_200, trace },
    }
    expect(parseLine(formatLine(longest))).toEqual(longest)
    expect(formatLine(longest).length).toBeLessThanOrEqual(lineOctetsMax)
    expect(lineOctetsMax).toBe(250)
  })
})

describe('the lines of a text', () => {
  const told = (text: string) => textLines(text).map((line) => formatLine(line))

  it('are one for each of its own, empty ones too', () => {
    expect(told('')).toEqual(['t '])
    expect(told('one')).toEqual(['t one'])
    expect(told('one\n\ntwo\n')).toEqual(['t one', 't ', 't two', 't '])
  })

  it('are cut at 200 octets, and not before', () => {
    const full = 'x'.repeat(200)
    expect(told(full)).toEqual([`t ${full}`])
    expect(told(`${full}y`)).toEqual([`t ${full}`, 'c y'])
    expect(told(`${full}${full}y\nz`)).toEqual([`t ${full}`, `c ${full}`, 'c y', 't z'])
  })

  it('are cut between characters', () => {
    const long = '😀'.repeat(60)
    expect(told(long)).toEqual([`t ${'😀'.repeat(50)}`, `c ${'😀'.repeat(10)}`])
    expect(told(`x${long}`)).toEqual([`t x${'😀'.repeat(49)}`, `c ${'😀'.repeat(11)}`])
    expect(told(`${'x'.repeat(199)}ä`)).toEqual([`t ${'x'.repeat(199)}`, 'c ä'])
  })
})
