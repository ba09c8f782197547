import { createHash, randomBytes, scrypt, timingSafeEqual } from 'node:crypto'

/** scrypt with N 2^15, r 8, p 1: some 32 MB and a tenth of a second (RFC 7914). */
const cost = { log2N: 15, r: 8, p: 1 }
const hashOctets = 32
const saltOctets = 16
export const passwordCharactersMax = 200

/** @returns 'scrypt:15:8:1:SALT:HASH', salt and hash as base64url */
export async function hashPassword(
  password: string,
  salt: Uint8Array = randomBytes(saltOctets),
): Promise<string> {
  const hash = await derive(password, salt, cost)
  const { log2N, r, p } = cost
  return ['scrypt', log2N, r, p, base64(salt), base64(hash)].join(':')
}

/** False, too, for a hash of no form that is known: nobody gets in by a slip in the configuration. */
export async function passwordIs(password: string, hash: string): Promise<boolean> {
  const [kind, log2N, r, p, salt, wanted] = hash.split(':')
  if (kind !== 'scrypt' || salt === undefined || wanted === undefined) return false
  const given = { log2N: Number(log2N), r: Number(r), p: Number(p) }
  const right = given.log2N >= 14 && given.log2N <= 17 && given.r === 8 && given.p === 1
  const expected = Buffer.from(wanted, 'base64url')
  if (!right || expected.length !== hashOctets) return false
  const found = await derive(password, Buffer.from(salt, 'base64url'), given)
  return timingSafeEqual(found, expected)
}

/** A secret of its own 256 bits needs no costly hash. */
export const tokenHash = (token: string): string =>
  createHash('sha256').update(token, 'utf8').digest('hex')

export const newToken = (): string => base64(randomBytes(32))

const base64 = (octets: Uint8Array): string => Buffer.from(octets).toString('base64url')

function derive(
  password: string,
  salt: Uint8Array,
  { log2N, r, p }: { readonly log2N: number; readonly r: number; readonly p: number },
): Promise<Buffer> {
  const options = { N: 2 ** log2N, r, p, maxmem: 256 * 2 ** log2N * r }
  return new Promise((resolve, reject) =>
    scrypt(password.normalize('NFC'), salt, hashOctets, options, (error, hash) =>
      error === null ? resolve(hash) : reject(error),
    ),
  )
}
