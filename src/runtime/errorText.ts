import { getSystemErrorMap } from 'node:util'
import { Failure } from './failure.js'

/** What the operating system's codes mean to a person; what is not here is told in the system's own words. */
const wordsByCode: Readonly<Record<string, string>> = {
  EACCES: 'no permission',
  EADDRINUSE: 'the address is in use by another program',
  EADDRNOTAVAIL: 'no address of this machine',
  EAI_AGAIN: 'no such host name',
  EBUSY: 'another program has it open',
  ECONNREFUSED: 'connection refused: nothing listens there',
  ECONNRESET: 'the other side broke the connection',
  EEXIST: 'it is there already',
  EFBIG: 'the file is too large',
  EISDIR: 'a folder',
  EMFILE: 'too many open files',
  ENOENT: 'no such file',
  ENOSPC: 'the disk is full',
  ENOTDIR: 'a file stands where a folder is expected',
  ENOTFOUND: 'no such host name',
  EPERM: 'no permission',
  EPIPE: 'the other side is gone',
  EROFS: 'the file system is read-only',
  ELOOP: 'links that lead in a circle',
  ENAMETOOLONG: 'the name is too long',
  EIO: 'the device fails',
  ENODEV: 'no such device',
  ENXIO: 'no such device',
  ETIMEDOUT: 'no answer',
}

/** The same by the system's English, in small letters: libraries pass that on without the code. */
const wordsBySystemText: ReadonlyMap<string, string> = new Map(
  [...getSystemErrorMap().values()].flatMap(([code, text]) => {
    const words = wordsByCode[code]
    return words === undefined ? [] : [[text, words] as const]
  }),
)

/**
 * What went wrong, in words for a person, on one line: without codes, names of calls, and what whoever tells it has named
 * already. The one way from anything thrown to text.
 */
export function errorText(error: unknown): string {
  if (error instanceof Failure) return error.message
  const { code, errno, syscall } = (error ?? {}) as Partial<NodeJS.ErrnoException>
  if (code === 'ENOENT' && syscall?.startsWith('spawn')) return 'no such program'
  const known = typeof code === 'string' ? wordsByCode[code] : undefined
  if (known !== undefined) return known
  const system = typeof errno === 'number' ? getSystemErrorMap().get(errno) : undefined
  if (system !== undefined) return system[1]
  const text = plain(error instanceof Error ? error.message : String(error))
  return wordsBySystemText.get(text.toLowerCase()) ?? text
}

/** Without 'ENOENT: ' before, ", open 'x'" behind, and a serial driver's 'Error: ' and ', cannot open /dev/x'. */
const plain = (message: string): string =>
  (message.trim().split('\n')[0] ?? '')
    .trim()
    .replace(/^(E[A-Z0-9]+: |Error:? )/, '')
    .replace(/, [a-z]+ '.*'$/, '')
    .replace(/,? cannot open .*$/i, '')
