import { readFile, stat } from 'node:fs/promises'
import { Failure } from '../../runtime/failure.js'
import { decodeText } from './decodeText.js'

/** A directory of a whole continent has some ten megabytes. */
const octetsMax = 64 * 2 ** 20

/**
 * The whole text of a data file.
 * @throws Failure 'data-unreadable' or 'data-too-large'
 */
export async function readDataFile(file: string, what: string): Promise<string> {
  let octets: Uint8Array
  try {
    const { size } = await stat(file)
    if (size > octetsMax)
      throw new Failure({
        code: 'data-too-large',
        subject: file,
        got: `${Math.round(size / 2 ** 20)} MB`,
        expected: `${what} of at most ${octetsMax / 2 ** 20} MB`,
      })
    octets = await readFile(file)
  } catch (cause) {
    if (cause instanceof Failure) throw cause
    throw new Failure({
      code: 'data-unreadable',
      subject: file,
      got: reasonOf(cause),
      expected: `${what} that can be read`,
      cause,
    })
  }
  return decodeText(octets)
}

function reasonOf(cause: unknown): string {
  const code = (cause as NodeJS.ErrnoException | undefined)?.code
  if (code === 'ENOENT') return 'no such file'
  if (code === 'EISDIR') return 'a folder'
  if (code === 'EACCES') return 'no permission to read it'
  return cause instanceof Error ? cause.message : String(cause)
}
