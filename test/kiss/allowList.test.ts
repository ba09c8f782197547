import { describe, expect, it } from 'vitest'
import { createAllowList, isLoopback } from '../../src/kiss/allowList.js'
import { Failure } from '../../src/runtime/failure.js'

// Addresses for documentation: RFC 5737 and RFC 3849.
describe('the allow-list', () => {
  it('lets loopback in always, and what is listed', () => {
    const list = createAllowList(['192.0.2.7', '198.51.100.0/24', '2001:db8::/32'])
    const allowed = ['127.0.0.1', '127.9.9.9', '::1', '::ffff:127.0.0.1', '192.0.2.7']
    for (const address of [...allowed, '198.51.100.255', '::FFFF:198.51.100.1', '2001:db8::5'])
      expect(list.allows(address), address).toBe(true)
    const others = ['192.0.2.8', '198.51.101.0', '2001:db9::', '0.0.0.0', '::', '10.0.0.1']
    for (const address of [...others, '', 'localhost.', undefined])
      expect(list.allows(address), address).toBe(false)
  })

  it('a range of no bits is everybody, as written', () => {
    expect(createAllowList(['0.0.0.0/0']).allows('203.0.113.9')).toBe(true)
    expect(createAllowList(['0.0.0.0/0']).allows('2001:db8::1')).toBe(false)
  })

  it.each([
    '',
    'radio',
    '192.0.2',
    '192.0.2.0/33',
    '192.0.2.0/',
    '192.0.2.0/8/8',
    '2001:db8::/129',
  ])('refuses %j with a message', (rule) => {
    expect(() => createAllowList([rule])).toThrow(Failure)
    expect(() => createAllowList([rule])).toThrow(/expected an IP address or a range/)
  })

  it('knows loopback', () => {
    for (const address of ['localhost', '127.0.0.1', '127.1.2.3', '::1'])
      expect(isLoopback(address)).toBe(true)
    for (const address of ['0.0.0.0', '::', '192.0.2.1', 'host'])
      expect(isLoopback(address)).toBe(false)
  })
})
