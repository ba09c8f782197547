import { readFile, stat } from 'node:fs/promises'
import { errorText } from '../../runtime/errorText.js'
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
      problem: `cannot be read: ${errorText(cause)}`,
      cause,
    })
  }
  return decodeText(octets)
}
