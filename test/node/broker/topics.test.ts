import { describe, expect, it } from 'vitest'
import {
  onlinePayload,
  pieceOctetsMax,
  piecePayload,
  readOnline,
  readPiece,
  topicsOf,
} from '../../../src/node/broker/topics.js'
import { seededRandom } from '../../../src/runtime/random.js'

const octets = (text: string): Uint8Array => new TextEncoder().encode(text)
const session = 'abcdefgh234567aa'

describe('a piece of a session', () => {
  it('is read as it was written, with any octets', () => {
    for (const word of ['call', 'more', 'end', 'gone'] as const) {
      const piece = { session, number: 7, word, octets: Uint8Array.from([0, 10, 13, 255]) }
      expect(readPiece(piecePayload(piece))).toEqual(piece)
    }
    const late = { session, number: 999_999_999, word: 'more' as const, octets: octets('x') }
    expect(readPiece(piecePayload(late))).toEqual(late)
    const longest = { session, number: 0, word: 'more' as const }
    const full = piecePayload({ ...longest, octets: new Uint8Array(pieceOctetsMax) })
    expect(readPiece(full)?.octets.length).toBe(pieceOctetsMax)
    expect(
      readPiece(piecePayload({ ...longest, octets: new Uint8Array(pieceOctetsMax + 1) })),
    ).toBe(undefined)
  })

  it('is nothing of another form', () => {
    for (const text of [
      ...['', '\n', `link 1 ${session} 0 call`, `link 2 ${session} 0 call\n`],
      ...[`link 1 ${session}a 0 call\n`, `link 1 ${session.toUpperCase()} 0 call\n`],
      ...[`link 1 ${session} 00 call\n`, `link 1 ${session} -1 more\n`],
      ...[`link 1 ${session} 1e9 more\n`, `link 1 ${session} 9999999999 more\n`],
      ...[
        `link 1 ${session} 0 call.`,
        `link 1 ${session} 0 calls\n`,
        `link 1 ${session} 1x more\n`,
      ],
      ...[`link 1 ${session} 0 stop\n`, ` link 1 ${session} 0 call\n`, `${' '.repeat(70)}\n`],
    ])
      expect(readPiece(octets(text)), text).toBeUndefined()
  })

  it('is never more than a value, whatever octets come', () => {
    const random = seededRandom(3)
    const head = octets(`link 1 ${session} 0 call\n`)
    for (let time = 0; time < 5_000; time++) {
      const one = Uint8Array.from(head, (octet) =>
        random() < 0.05 ? Math.floor(random() * 256) : octet,
      )
      const piece = readPiece(one)
      if (piece !== undefined) expect(piece.number).toBeLessThan(1e9)
      readOnline(one, 'Q1HIL-5')
    }
  })
})

describe('topics', () => {
  it('begin with a prefix and the call of who says something', () => {
    const { online, state, to } = topicsOf('air', 'Q1HIL-5')
    expect([online, state, to('Q2BBB')]).toEqual([
      ...['air/Q1HIL-5/online', 'air/Q1HIL-5/state', 'air/Q1HIL-5/to/Q2BBB'],
    ])
  })
})

describe('a word of being online', () => {
  it('has a thousand octets and no more', () => {
    const beginning = '{"form":1,"call":"Q1HIL-5","online":true,"x":"'
    const told = (count: number) =>
      octets(`${beginning}${'y'.repeat(count - beginning.length - 2)}"}`)
    expect(told(1_000)).toHaveLength(1_000)
    expect(readOnline(told(1_000), 'Q1HIL-5')).toBe(true)
    expect(readOnline(told(1_001), 'Q1HIL-5')).toBeUndefined()
  })

  it('counts of the node that it names, and in this form only', () => {
    expect(readOnline(onlinePayload('Q1HIL-5', true, ['message']), 'Q1HIL-5')).toBe(true)
    expect(readOnline(onlinePayload('Q1HIL-5', false, []), 'Q1HIL-5')).toBe(false)
    expect(readOnline(onlinePayload('Q1HIL-5', true, []), 'Q1FAR-5')).toBeUndefined()
    for (const text of [
      ...['', 'null', '[]', '7', '"online"', '{', '{"form":1}'],
      ...['{"form":2,"call":"Q1HIL-5","online":true}', '{"form":1,"call":"Q1HIL-5","online":1}'],
      `{"form":1,"call":"Q1HIL-5","online":true,"x":"${'y'.repeat(2_000)}"}`,
      '['.repeat(900),
    ])
      expect(readOnline(octets(text), 'Q1HIL-5'), text).toBeUndefined()
  })
})
