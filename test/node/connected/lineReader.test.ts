import { expect, it } from 'vitest'
import { lineReader } from '../../../src/node/connected/lineReader.js'

const typed = (text: string | Uint8Array, octetsMax = 20) =>
  lineReader(octetsMax)
    .push(typeof text === 'string' ? new TextEncoder().encode(text) : text)
    .map((line) => (line.ok ? line.text : line.reason))

it.each<[string, string[]]>([
  ['a\rb\nc\r\nd', ['a', 'b', 'c']],
  ['\r\r\n\n', ['', '', '']],
  ['a\n\rb\r', ['a', '', 'b']],
  ['a\r\tb\n', ['a', ' b']],
  ['a\rx\n', ['a', 'x']],
  ['ab\bc\r', ['ac']],
  ['ab\u007fc\r', ['ac']],
  ['\b\ba\r', ['a']],
  ['aü€\bb\r', ['aüb']],
  ['aü\b\bb\r', ['b']],
  ['a\u0000\u001b[31mb\u0085\r', ['a[31mb']],
  ['x y~\r', ['x y~']],
])('%j is %j', (text, lines) => {
  expect(typed(text)).toEqual(lines)
})

it('what is no UTF-8 becomes a sign for that', () => {
  expect(typed(Uint8Array.of(0x61, 0xff, 0x0d))).toEqual(['a\ufffd'])
})

it('a line that is too long is told once, and left out to its end', () => {
  expect(typed(`${'x'.repeat(20)}\r`)).toEqual(['x'.repeat(20)])
  expect(typed(`${'x'.repeat(60)}\ry\r`)).toEqual(['too long', 'y'])
  expect(typed(`${'x'.repeat(21)}\b\b\b\r\n${'z'.repeat(21)}\r`)).toEqual(['too long', 'too long'])
})

it('a line comes in pieces, and begins anew after a reset', () => {
  const reader = lineReader(5)
  const push = (text: string) => reader.push(new TextEncoder().encode(text))
  expect([...push('ab'), ...push('c\r'), ...push('\nd\r')]).toEqual([
    { ok: true, text: 'abc' },
    { ok: true, text: 'd' },
  ])
  push('lost')
  reader.reset()
  expect(push('x\r')).toEqual([{ ok: true, text: 'x' }])
  push('too long')
  reader.reset()
  expect(push('y\r')).toEqual([{ ok: true, text: 'y' }])
  reader.reset()
  expect(push('\n')).toEqual([{ ok: true, text: '' }])
})
