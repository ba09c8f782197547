import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll } from 'vitest'

// The same random cases in every run; PROPERTY_SEED=N tries others. A failure prints seed and path to replay it.
fc.configureGlobal({ seed: Number(process.env.PROPERTY_SEED ?? 1) })

// What a test file makes in the folder for temporary files goes with it (temporaryRoom.ts).
const room = tmpdir()
const own = mkdtempSync(join(room, 't'))
process.env.TMPDIR = own
afterAll(() => {
  process.env.TMPDIR = room
  rmSync(own, { recursive: true, force: true })
})
