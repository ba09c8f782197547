import { BlockList, isIP } from 'node:net'
import { Failure } from '../runtime/failure.js'

/** Which addresses may connect; loopback always may. */
export interface AllowList {
  allows(address: string | undefined): boolean
}

/**
 * @param rules IP addresses, or ranges such as "192.168.7.0/24" and "fd00::/8"
 * @param key of the configuration that has the rules
 * @throws Failure 'kiss-allow' for a rule that is neither
 */
export function createAllowList(rules: readonly string[], key = 'kiss.tcp.allow'): AllowList {
  const list = new BlockList()
  list.addSubnet('127.0.0.0', 8, 'ipv4')
  list.addAddress('::1', 'ipv6')
  for (const rule of rules) addRule(list, rule, key)
  return {
    allows(address) {
      const plain = plainAddress(address ?? '')
      const version = isIP(plain)
      return version !== 0 && list.check(plain, version === 4 ? 'ipv4' : 'ipv6')
    },
  }
}

/** True for addresses that only this machine can reach. */
export const isLoopback = (address: string): boolean =>
  address === 'localhost' || createAllowList([]).allows(address)

/** What counts as one machine: this one, an IPv4 address, or the network of an IPv6 address, in which all are one household's. */
export function machineOf(address: string): string {
  if (isLoopback(address)) return 'this machine'
  const plain = plainAddress(address)
  // All machines on a wire share the link-local network.
  if (isIP(plain) !== 6 || /^fe[89ab]/i.test(plain)) return plain
  const [head = '', tail] = plain.split('::')
  const [leading, trailing] = [head, tail ?? ''].map((part) => part.split(':').filter(Boolean))
  const zeros = tail === undefined ? 0 : Math.max(0, 8 - leading!.length - trailing!.length)
  const groups = [...leading!, ...Array<string>(zeros).fill('0'), ...trailing!]
  return `${groups.slice(0, 4).join(':')}::/64`
}

function addRule(list: BlockList, rule: string, key: string): void {
  const [address = '', bits, ...more] = rule.split('/')
  const version = isIP(address)
  const bitsMax = version === 4 ? 32 : 128
  const prefix = bits === undefined ? bitsMax : Number(bits)
  const right =
    version !== 0 &&
    more.length === 0 &&
    bits !== '' &&
    Number.isInteger(prefix) &&
    prefix >= 0 &&
    prefix <= bitsMax
  if (!right)
    throw new Failure({
      code: 'kiss-allow',
      subject: key,
      got: JSON.stringify(rule),
      expected: 'an IP address or a range such as "192.168.7.0/24"',
    })
  list.addSubnet(address, prefix, version === 4 ? 'ipv4' : 'ipv6')
}

/** An IPv4 client of a socket that listens on both versions comes as ::ffff:192.0.2.1. */
export const plainAddress = (address: string): string =>
  address.toLowerCase().startsWith('::ffff:') && address.includes('.')
    ? address.slice('::ffff:'.length)
    : address
