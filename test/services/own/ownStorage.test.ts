import { describe, expect, it } from 'vitest'
import { ownStorage } from '../../../src/services/own/ownStorage.js'

describe('storage of an own service', () => {
  it('gives back what was set, and says what changed', () => {
    const { storage, changes } = ownStorage({ a: '1', b: '{"c":[true,null]}', __proto__: '0' })
    expect(storage.get('b')).toEqual({ c: [true, null] })
    expect(storage.get('none')).toBeUndefined()
    expect(changes()).toEqual([])
    storage.set('z', 'text')
    storage.set('__proto__', 7)
    storage.set('a', 2)
    storage.set('a', 3)
    storage.delete('b')
    storage.delete('none')
    expect(storage.get('__proto__')).toBe(7)
    expect(storage.keys()).toEqual(['__proto__', 'a', 'z'])
    expect(changes()).toEqual([
      ['z', '"text"'],
      ['__proto__', '7'],
      ['a', '3'],
      ['b', null],
    ])
  })

  it('copies: what is changed after it was set, or got, is not kept', () => {
    const { storage } = ownStorage({})
    const list = [1]
    storage.set('list', list)
    list.push(2)
    ;(storage.get('list') as number[]).push(3)
    expect(storage.get('list')).toEqual([1])
  })

  it('refuses what cannot be kept, at the limits', () => {
    const { storage } = ownStorage({})
    for (const [key, value] of [
      ['', 1],
      ['k'.repeat(101), 1],
      [7, 1],
      ['a', undefined],
      ['a', () => 1],
      ['a', 'x'.repeat(19_999)],
    ])
      expect(() => storage.set(key as string, value)).toThrow(RangeError)
    storage.set('k'.repeat(100), 'x'.repeat(19_998))
    expect(storage.keys()).toHaveLength(1)
  })

  it('holds 1000 keys and 500000 characters, and room that was freed', () => {
    const { storage } = ownStorage({})
    for (let at = 0; at < 1000; at++) storage.set(`key ${at}`, at)
    expect(() => storage.set('one more', 1)).toThrow(/1000 keys/)
    storage.set('key 0', 'changed')
    storage.delete('key 1')
    storage.set('one more', 1)
    const large = ownStorage({}).storage
    for (let at = 0; at < 25; at++) large.set(`${at}`.padStart(2, '0'), 'x'.repeat(19_996))
    expect(() => large.set('a', 1)).toThrow(/500000 characters/)
    large.set('00', 1)
    large.set('a', 1)
  })
})
