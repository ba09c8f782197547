import { createHmac } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { openedLine, sealedLine } from '../../../src/node/hills/seal.js'

const context = {
  ...{ from: 'Q1AAA', to: 'Q2BBB', fromNonce: 'a'.repeat(16), toNonce: 'b'.repeat(16), number: 3 },
}
const secret = 'words that only two know'

describe('a seal', () => {
  it('stands behind the line, which stays readable', () => {
    const sealed = sealedLine('want Q1AAA.ABCDEFGHJK', secret, context)
    expect(sealed).toMatch(/^want Q1AAA\.ABCDEFGHJK ~[0-9a-f]{10}$/)
    expect(openedLine(sealed, secret, () => context)).toBe('want Q1AAA.ABCDEFGHJK')
    expect(sealedLine('nothing', undefined, context)).toBe('nothing')
  })

  // RFC 4231, test case 2 (from memory): the hash that the runtime gives is the one that is meant
  it('is of HMAC-SHA-256', () => {
    expect(createHmac('sha256', 'Jefe').update('what do ya want for nothing?').digest('hex')).toBe(
      '5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843',
    )
    const over = `Q1AAA\nQ2BBB\n${'a'.repeat(16)}\n${'b'.repeat(16)}\n3\nnothing`
    const wanted = createHmac('sha256', secret).update(over).digest('hex').slice(0, 10)
    expect(sealedLine('nothing', secret, context)).toBe(`nothing ~${wanted}`)
  })

  it('is wrong for another line, number, direction, session or secret, and where it is missing', () => {
    const sealed = sealedLine('nothing', secret, context)
    const opened = (change: Partial<typeof context>, text = sealed, key = secret) =>
      openedLine(text, key, () => ({ ...context, ...change }))
    expect(opened({})).toBe('nothing')
    expect(opened({ number: 4 })).toBeUndefined()
    expect(opened({ from: 'Q2BBB', to: 'Q1AAA' })).toBeUndefined()
    expect(opened({ fromNonce: 'c'.repeat(16) })).toBeUndefined()
    expect(opened({ toNonce: 'c'.repeat(16) })).toBeUndefined()
    expect(opened({}, sealed.replace('nothing', 'end'))).toBeUndefined()
    expect(opened({}, sealed, 'other words')).toBeUndefined()
    expect(opened({}, 'nothing')).toBeUndefined()
    expect(opened({}, `${sealed}0`)).toBeUndefined()
    expect(opened({}, sealed.replace(' ~', '~'))).toBeUndefined()
    expect(opened({}, sealed.toUpperCase())).toBeUndefined()
  })

  it('is of all that stands before it, another seal and line feeds too', () => {
    for (const line of ['a ~0123456789', 'a\nb', '']) {
      const sealed = sealedLine(line, secret, context)
      expect(openedLine(sealed, secret, () => context)).toBe(line)
      const asked: string[] = []
      openedLine(sealed, secret, (text) => {
        asked.push(text)
        return context
      })
      expect(asked).toEqual([line])
    }
  })
})
