import { mkdir, open, rename, rm } from 'node:fs/promises'
import { dirname } from 'node:path'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

/**
 * Puts a file in the place of another, all or nothing: whoever reads sees the old one or the new one, also after the
 * power failed meanwhile.
 * @throws Failure 'output-unwritable'; the old file is as it was
 */
export async function replaceFile(path: string, content: string | Uint8Array): Promise<void> {
  const partial = `${path}.partial`
  try {
    await mkdir(dirname(path), { recursive: true })
    const file = await open(partial, 'w')
    try {
      await file.writeFile(content)
      await file.sync()
    } finally {
      await file.close()
    }
    await rename(partial, path)
    await syncFolder(dirname(path))
  } catch (cause) {
    await rm(partial, { force: true }).catch(() => {})
    throw unwritable(path, cause)
  }
}

/** As replaceFile, for a whole folder that has been prepared beside it. */
export async function replaceFolder(path: string, prepared: string): Promise<void> {
  const former = `${path}.former`
  try {
    await rm(former, { recursive: true, force: true })
    await rename(path, former).catch((cause: NodeJS.ErrnoException) => {
      if (cause.code !== 'ENOENT') throw cause
    })
    await rename(prepared, path)
    await rm(former, { recursive: true, force: true })
    await syncFolder(dirname(path))
  } catch (cause) {
    throw unwritable(path, cause)
  }
}

/** A renaming is on the disk when its folder is. */
async function syncFolder(path: string): Promise<void> {
  const folder = await open(path)
  try {
    await folder.sync()
  } finally {
    await folder.close()
  }
}

const unwritable = (subject: string, cause: unknown): Failure =>
  new Failure({
    code: 'output-unwritable',
    subject,
    got: errorText(cause),
    expected: 'a place that can be written to',
    cause,
  })
