// Everything that tests put into the folder for temporary files goes into one folder of the run, with one in it for each test
// file (setup.ts), which goes with that file. What is there at the end was left by a process or a timer that outlived its test.
import { mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** The name is short: the path of a socket has room for 107 characters. */
export default function temporaryRoom(): () => void {
  const before = process.env.TMPDIR
  const folder = mkdtempSync(join(tmpdir(), 'rp-'))
  process.env.TMPDIR = folder
  return () => {
    if (before === undefined) delete process.env.TMPDIR
    else process.env.TMPDIR = before
    const left = readdirSync(folder)
    rmSync(folder, { recursive: true, force: true })
    if (left.length === 0) return
    // vitest prints what is thrown here, and ends with 0 all the same
    process.exitCode = 1
    throw new Error(`left behind by the tests in ${folder}: ${left.join(', ')}`)
  }
}
