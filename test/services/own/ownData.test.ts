import { describe, expect, it } from 'vitest'
import { ownData } from '../../../src/services/own/ownData.js'

describe('data of an own service', () => {
  it('gives back what was set, and says what changed', () => {
    const { data, changes } = ownData({ a: '1', b: '{"c":[true,null]}', __proto__: '0' })
    expect(data.get('b')).toEqual({ c: [true, null] })
    expect(data.get('none')).toBeUndefined()
    expect(changes()).toEqual([])
    data.set('z', 'text')
    data.set('__proto__', 7)
    data.set('a', 2)
    data.set('a', 3)
    data.delete('b')
    data.delete('none')
    expect(data.get('__proto__')).toBe(7)
    expect(data.list().map(([key]) => key)).toEqual(['__proto__', 'a', 'z'])
    expect(changes()).toEqual([
      ['z', '"text"'],
      ['__proto__', '7'],
      ['a', '3'],
      ['b', null],
    ])
  })

  it('lists what begins alike, with its values', () => {
    const { data } = ownData({ 'a 2': '2', 'a 1': '{"b":1}', b: '3' })
    expect(data.list('a ')).toEqual([
      ['a 1', { b: 1 }],
      ['a 2', 2],
    ])
    expect(data.list('none')).toEqual([])
  })

  it('copies: what is changed after it was set, or got, is not kept', () => {
    const { data } = ownData({})
    const list = [1]
    data.set('list', list)
    list.push(2)
    ;(data.get('list') as number[]).push(3)
    expect(data.get('list')).toEqual([1])
  })

  it('refuses what cannot be kept, at the limits', () => {
    const { data } = ownData({})
    for (const [key, value] of [
      ['', 1],
      ['k'.repeat(101), 1],
      [7, 1],
      ['a', undefined],
      ['a', () => 1],
      ['a', 'x'.repeat(19_999)],
    ])
      expect(() => data.set(key as string, value)).toThrow(RangeError)
    data.set('k'.repeat(100), 'x'.repeat(19_998))
    expect(data.list().map(([key]) => key)).toHaveLength(1)
  })

  it('holds 1000 keys and 500000 characters, and room that was freed', () => {
    const { data } = ownData({})
    for (let at = 0; at < 1000; at++) data.set(`key ${at}`, at)
    expect(() => data.set('one more', 1)).toThrow(/1000 keys/)
    data.set('key 0', 'changed')
    data.delete('key 1')
    data.set('one more', 1)
    const large = ownData({}).data
    for (let at = 0; at < 25; at++) large.set(`${at}`.padStart(2, '0'), 'x'.repeat(19_996))
    expect(() => large.set('a', 1)).toThrow(/500000 characters/)
    large.set('00', 1)
    large.set('a', 1)
  })
})
