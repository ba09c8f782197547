import { chownSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { dirname } from 'node:path'
import { z } from 'zod'
import { replaceFile } from '../devices/replaceFile.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import type { ControlSecret, SecretBook } from './codeCheck.js'
import { formatBase32, parseBase32 } from './oneTimeCode.js'

/** A hold that the control operator set by radio, kept over restarts. */
export interface KeptHold {
  /** call of the one who set it */
  readonly by: string
  /** how long it was to last; undefined for one that lasts until it is released */
  readonly durationMs: number | undefined
}

export interface ControlData {
  readonly secrets: readonly ControlSecret[]
  readonly hold: KeptHold | undefined
}

/** Octets of a new secret: what RFC 4226 recommends (R6). */
export const secretOctets = 20

const fileSchema = z.object({
  secrets: z.array(
    z.object({
      call: z.string().regex(/^[A-Z0-9]{1,6}$/),
      goesBy: z.enum(['counter', 'clock']),
      secret: z.string(),
      counter: z.int().min(0),
    }),
  ),
  hold: z.object({ by: z.string(), durationMs: z.number().positive().optional() }).optional(),
})

/**
 * @returns nobody and no hold for a file that is not there
 * @throws Failure 'control-file' for one that cannot be read, or is not of this form
 */
export function readControlFile(path: string): ControlData {
  let text: string
  try {
    text = readFileSync(path, 'utf8')
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return { secrets: [], hold: undefined }
    throw damaged(path, errorText(error), error)
  }
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch (error) {
    throw damaged(path, 'a text that is not JSON', error)
  }
  const parsed = fileSchema.safeParse(json)
  if (!parsed.success) throw damaged(path, 'JSON of another form', parsed.error)
  const { hold } = parsed.data
  const secrets = parsed.data.secrets.map(({ secret, ...rest }) => {
    const octets = parseBase32(secret)
    if (octets === undefined || octets.length < 16)
      throw damaged(path, `a secret of ${rest.call} that is none`)
    return { ...rest, secret: octets }
  })
  return { secrets, hold: hold && { by: hold.by, durationMs: hold.durationMs } }
}

/**
 * On the disk when it returns; nobody but its owner can read it.
 * @throws Failure 'output-unwritable'
 */
export function writeControlFile(path: string, { secrets, hold }: ControlData): void {
  const entries = secrets.map((one) => ({ ...one, secret: formatBase32(one.secret) }))
  const text = `${JSON.stringify({ secrets: entries, hold }, null, 2)}\n`
  try {
    // A file that replaces one has its mode and owner; a new one would be as open as the process makes files, and what root
    // writes beside the service's database must be the service's to read.
    writeFileSync(path, '', { mode: 0o600, flag: 'wx' })
    const { uid, gid } = statSync(dirname(path))
    if (process.getuid?.() === 0) chownSync(path, uid, gid)
  } catch {
    // it is there, or the folder is not: what follows says so
  }
  replaceFile(path, text)
}

/** The file as the judge of codes wants it; faults are reported, and count as nobody enrolled and nothing kept. */
export function secretBook(path: string, onFault: (failure: Failure) => void): SecretBook {
  let known: { readonly version: string; readonly data: ControlData } | undefined
  // Looked at for everybody who sends a message: read when it has changed.
  const read = (): ControlData => {
    try {
      const version = versionOf(path)
      if (known === undefined || known.version !== version)
        known = { version, data: readControlFile(path) }
      return known.data
    } catch (error) {
      known = undefined
      onFault(error as Failure)
      return { secrets: [], hold: undefined }
    }
  }
  return {
    of: (call) => read().secrets.filter((secret) => secret.call === call),
    keepCounter(used, counter) {
      try {
        // Read anew: somebody may have been enrolled meanwhile.
        const data = readControlFile(path)
        const secrets = data.secrets.map((one) =>
          one.call === used.call && one.goesBy === used.goesBy ? { ...one, counter } : one,
        )
        writeControlFile(path, { ...data, secrets })
        return true
      } catch (error) {
        onFault(error as Failure)
        return false
      }
    },
  }
}

/** Another one after each change: a file that is replaced has another time of change, and mostly another inode. */
function versionOf(path: string): string {
  const stat = statSync(path, { bigint: true, throwIfNoEntry: false })
  return stat === undefined ? 'none' : [stat.ino, stat.size, stat.mtimeNs, stat.ctimeNs].join()
}

const damaged = (path: string, got: string, cause?: unknown): Failure =>
  new Failure({
    code: 'control-file',
    subject: path,
    got,
    expected: 'the file that ridgepost enrol makes',
    advice: 'enrol the control operators anew; until then codes by radio are refused',
    cause,
  })
